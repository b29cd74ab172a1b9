"""The pocket chart in a real browser: it answers as ``chart look`` does, keeps notes, and sends nothing."""

import random
from dataclasses import replace
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
from browser import SIZES, browser, needs_browser, quiet, show
from cells import cells
from slow import some
from test_pocket import HARM, NARROW

from gearsearch.base.document import plain
from gearsearch.charts import looking, making
from gearsearch.charts.changes import fewest_changes
from gearsearch.charts.looking import look_up
from gearsearch.mounting.placement import Names, placement_lines
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.search.check import check
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop, load_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part
from gearsearch.work.lists import LeadList, standard_list

pytestmark = needs_browser
LATHE = load_shop(str(Path(__file__).parents[1] / "tables" / "lathe.toml"))
_NAMES = ("M4", "M6", "M8", "M10", "M12", "M16", "M24", "1/2 BSW", "2BA")
_PARTS = tuple(part("mm", name=name, thread=name, tolerance="0.2%") for name in _NAMES)
GEARBOX = LeadList("some", "some threads", _PARTS)

LOOK = """
document.querySelector('[name=by][value=lead]').checked = true;
document.getElementById('lead-unit').value = 'mm';
return arguments[0].map((lead) => {
  document.getElementById('lead').value = lead;
  answer();
  const text = (row, name) => (row.querySelector('.' + name) || {textContent: ''}).textContent;
  return [...document.querySelectorAll('#hits > li')].map((row) => [
    row.dataset.lead, row.dataset.train, row.dataset.hand,
    ...['lead', 'other', 'off', 'relative', 'verdict', 'clear', 'tpi', 'way'].map((name) => text(row, name)),
  ]);
});
"""
ROWS_LEFT = """
const found = [];
const chart = page.chart;
for (let row = 0; row < chart.about.rows; row += 1) {
  for (const hand of chart.shown.hands) {
    if (isThere(chart, chart.shown, row, hand)) {
      found.push([textOf(leadOf(chart, row)), trainText(chart, row, hand), hand]);
    }
  }
}
return found;
"""


@pytest.fixture(scope="module")
def charts(tmp_path_factory):
    """The demo's charts as pages and as Parquet, by name."""
    folder, shop = tmp_path_factory.mktemp("charts"), demo_shop()
    lathe = replace(shop, units="in", name=HARM)
    made = {
        "every": making.every(shop, Terms()),
        "some": making.every(shop, Terms(), (Fraction(300), Fraction(450))),
        "list": making.of_list(shop, Terms(route="spindle"), standard_list("iso-261"), 2),
        "ways": making.every(shop, Terms(route="any"), NARROW),
        "harm": making.every(lathe, Terms(), NARROW),
        "gearbox": fewest_changes(LATHE, Terms(route="any"), GEARBOX),
        "unjudged": making.every(shop, Terms(pairs=(1, 1), mounting="skip")),
        "empty": making.every(shop, Terms(), (Fraction("359.99999"), Fraction("359.999999"))),
    }
    for name, chart in made.items():
        said = HARM if name == "harm" else "gearsearch chart"
        write_chart(chart, [folder / f"{name}.html", folder / f"{name}.parquet"], Imprint(said, "May 1"))
    return folder


@pytest.fixture(scope="module", autouse=True)
def charts_are_read_once():
    """Each chart here is one group of rows, the same for every look-up."""
    read, rows = looking.rows_in, {}

    def once(path, *more):
        if path not in rows:
            rows[path] = read(path, *more)
        return rows[path]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(looking, "rows_in", once)
        yield


@pytest.fixture(scope="module")
def driver(tmp_path_factory):
    with browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


@pytest.fixture(autouse=True)
def nothing_is_sent_and_nothing_complained_of(driver):
    with quiet(driver):
        yield


def told(path, lead, unit="mm"):
    """What ``chart look`` says of a lead, as the page tells it."""
    found = look_up(path, lead, 10, unit)
    rows = zip(found.hits, cells(found), strict=True)
    return [
        [
            str(hit.lead_mm),
            str(hit.train),
            hit.hand or "either",
            row["lead"],
            row["or"],
            row["off"],
            row["relative"].removesuffix(" OFF"),
            "OFF" if row["relative"].endswith(" OFF") else "",
            f"clear {row['clear']}" if "clear" in row else "",
            f"{row['tpi']} tpi" if "tpi" in row else "",
            f"route {hit.route}" if hit.route else "",
        ]
        for hit, row in rows
    ]


def some_leads(rng, count):
    """Leads near and far, round and not."""
    return [f"{10 ** rng.uniform(0.9, 3.6):.{rng.choice((0, 1, 2, 3, 6))}f}" for _ in range(count)]


@pytest.mark.parametrize(("size", "dark"), some(product(SIZES, (False, True)), 2))
def test_look_ups_equal_chart_look(driver, charts, size, dark):
    name = "every" if (size, dark) == ("phone", False) else "some"
    show(driver, charts / f"{name}.html", size, dark)
    leads = [*some_leads(random.Random(f"{size} {dark}"), 84), "412.5"]
    for lead, rows in zip(leads, driver.execute_script(LOOK, leads), strict=True):
        assert rows == told(charts / f"{name}.parquet", Fraction(lead)), lead


@pytest.mark.parametrize(("name", "unit"), [("list", "mm"), ("harm", "in"), ("unjudged", "mm"), ("ways", "mm")])
def test_look_ups_in_other_charts_equal_chart_look_too(driver, charts, name, unit):
    show(driver, charts / f"{name}.html")
    leads = [*some_leads(random.Random(name), 40), "410", "1.5"]
    for lead, rows in zip(leads, driver.execute_script(LOOK, leads), strict=True):
        assert rows == told(charts / f"{name}.parquet", Fraction(lead), unit), lead


@pytest.mark.parametrize("out", some([[24, 24], [40, 48, 100], [24], [127], [20, 24, 86, 72, 36]], 2), ids=str)
def test_gears_in_use_leave_the_rows_that_a_chart_without_them_holds_too(driver, charts, out):
    show(driver, charts / "every.html")
    whole = driver.execute_script(ROWS_LEFT)
    for teeth in out:
        driver.execute_script(f"document.querySelector('[data-text=\"{teeth}\"]').click()")
    left = driver.execute_script(ROWS_LEFT)
    write_chart(making.every(demo_shop(), Terms(without=tuple(out))), ["fresh.html"])
    show(driver, Path("fresh.html").resolve())
    fresh = {tuple(row) for row in driver.execute_script(ROWS_LEFT)}
    assert left == [row for row in whole if tuple(row) in fresh]
    assert 0 < len(left) < len(whole)


def test_a_hand_alone_leaves_rows_of_that_hand(driver, charts):
    show(driver, charts / "every.html")
    driver.execute_script("document.querySelector('[name=hand][value=left]').click()")
    rows = driver.execute_script(LOOK, ["412.5"])[0]
    assert {row[2] for row in rows} == {"left"}
    assert len({row[0] for row in rows}) == 10


ASKED = """
const [by, fields] = arguments;
document.querySelector(`[name=by][value=${by}]`).click();
for (const [id, value] of Object.entries(fields)) document.getElementById(id).value = value;
answer();
const {mm, said} = wanted();
return [textOf(mm), said, ...['said', 'angle-name'].map((id) => document.getElementById(id).textContent)];
"""


@pytest.mark.parametrize(
    ("by", "fields", "asked"),
    [
        ("helix", {"angle": "20", "diameter": "50"}, {"helix_angle": "20", "diameter": "50mm"}),
        ("helix", {"angle": "71°30'", "diameter": "2 in"}, {"helix_angle": "71°30'", "diameter": "2in"}),
        ("helix", {"angle": "45", "diameter": "40"}, {"helix_angle": "45", "diameter": "40mm"}),
        ("angle", {"angle": "20", "diameter": "50"}, {"lead_angle": "20", "diameter": "50mm"}),
        ("rise", {"rise": "10", "arc": "25"}, {"rise": "10mm", "per": "25"}),
        ("lead", {"lead": "16 1/4 in"}, {"lead": "16 1/4 in"}),
    ],
    ids=str,
)
def test_what_is_known_of_the_part_makes_the_lead_that_find_makes_of_it(driver, charts, by, fields, asked):
    show(driver, charts / "every.html")
    lead, said, status, name = driver.execute_script(ASKED, by, fields)
    want = part(**asked).lead_mm
    assert abs(Fraction(lead) / want - 1) < Fraction(1, 10**15)
    if by in ("helix", "angle"):
        assert ("AXIS" in said and "AXIS" in name) if by == "helix" else ("SQUARE" in said and "SQUARE" in name)
        assert said in status


@pytest.mark.parametrize(
    ("by", "fields"),
    [
        ("lead", {"lead": ""}),
        ("lead", {"lead": "1,5"}),
        ("lead", {"lead": "0"}),
        ("helix", {"angle": "90", "diameter": "50"}),
        ("angle", {"angle": "0", "diameter": "50"}),
        ("helix", {"angle": "20", "diameter": ""}),
        ("rise", {"rise": "10", "arc": "0"}),
        ("lead", {"lead": "412.5", "tolerance": "5"}),
        ("lead", {"lead": "412.5", "length": "-5"}),
    ],
    ids=str,
)
def test_what_cannot_be_is_told_in_a_line_and_no_row_is_shown(driver, charts, by, fields):
    show(driver, charts / "every.html")
    script = ASKED.replace("const {mm, said} = wanted();\nreturn [textOf(mm), said, ", "return [")
    status = driver.execute_script(script, by, fields)[0]
    assert status
    assert driver.execute_script("return document.querySelectorAll('#hits > li').length") == 0


OPEN = """
document.getElementById('lead').value = '412.5';
answer();
document.querySelectorAll('.hit')[arguments[0]].click();
const row = document.querySelector('#hits > li.open');
const round = (circle) => ['cx', 'cy', 'r'].map((name) => Number(circle.getAttribute(name)));
return [
  row.dataset.train,
  [...row.querySelectorAll('svg circle[class=tip]')].map(round),
  [...row.querySelectorAll('.ticks li')].map((item) => item.textContent),
];
"""


@pytest.mark.parametrize("at", range(0, 12, 3))
def test_an_opened_row_draws_the_train_to_scale_and_tells_where_each_stud_goes(driver, charts, at):
    show(driver, charts / "every.html")
    text, rounds, ticks = driver.execute_script(OPEN, at)
    shop = demo_shop()
    placement = check(shop, Train.parse(text)).fit.placement
    wanted = [(wheel.x_mm, -wheel.y_mm, wheel.tip_radius_mm) for wheel in placement.wheels]
    for round_, want in zip(sorted(map(tuple, rounds)), sorted(wanted), strict=True):
        assert round_ == pytest.approx(want, abs=0.0051)
    names = Names(shop, shop.route(), len(placement.studs))
    lines = placement_lines(placement, names)
    assert ticks[1 : 1 + len(lines)] == lines


def test_ticks_measured_lead_and_notes_survive_a_reload_and_go_from_device_to_device(driver, charts, tmp_path):
    show(driver, charts / "every.html", "phone")
    driver.execute_script(OPEN, 2)
    driver.find_element("css selector", ".open .tick input").click()
    driver.find_element("css selector", ".open .measured").send_keys("412.1")
    driver.find_element("css selector", ".open .notes").send_keys("<b>runs well</b>")
    kept = "return [...document.querySelectorAll('.open input, .open textarea')].map((e) => e.checked || e.value)"
    before = driver.execute_script(kept)
    assert {True, "412.1", "<b>runs well</b>"} <= set(before)
    show(driver, charts / "every.html", "phone")
    driver.execute_script(OPEN, 2)
    assert driver.execute_script(kept) == before
    notes = driver.execute_script("return JSON.stringify(saved())")
    driver.execute_script("localStorage.clear()")
    show(driver, charts / "every.html", "phone")
    driver.execute_script(OPEN, 2)
    assert driver.execute_script(kept) != before
    for name, text in (
        ("good.json", notes),
        ("bad.json", "{"),
        ("other.json", '{"gearsearch_notes": 1, "notes": {"a": 1}}'),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
        driver.find_element("id", "read").send_keys(str(tmp_path / name))
        said = f"return document.getElementById('kept').textContent.includes('{'good' if name[0] == 'g' else 'file'}')"
        from selenium.webdriver.support.ui import WebDriverWait

        WebDriverWait(driver, 5, 0.02).until(lambda here, said=said: here.execute_script(said))
        assert driver.execute_script(kept) == before
    driver.execute_script("localStorage.clear()")


def test_a_tolerance_draws_its_lines_and_a_length_tells_what_the_error_does_to_it(driver, charts):
    show(driver, charts / "every.html")
    fields = {"lead": "412.3", "tolerance": "500 ppm", "length": "60"}
    driver.execute_script(ASKED, "lead", fields)
    rows = driver.execute_script("return [...document.querySelectorAll('#hits > li')].map((row) => row.innerText)")
    at = [number for number, row in enumerate(rows) if row.startswith("tolerance")]
    assert len(at) == 2
    inside = ["inside" in row for row in rows]
    assert [number for number, good in enumerate(inside) if good] == list(range(at[0] + 1, at[1]))
    assert any("over 60.000 mm" in row for row in rows)
    assert not any("OFF" in row.split() for row in rows)


@pytest.mark.parametrize("size", SIZES)
def test_every_target_is_large_enough_for_gloves_and_nothing_is_wider_than_the_screen(driver, charts, size):
    show(driver, charts / "every.html", size)
    driver.execute_script(OPEN, 1)
    small = driver.execute_script(
        "return [...document.querySelectorAll('button, select, input[type=text], textarea, label.choice, label.tick, "
        "label.file, summary')].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 48)"
        ".map((e) => e.outerHTML.slice(0, 80))"
    )
    assert small == []
    assert driver.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")


def test_keys_alone_open_a_row_and_every_field_has_a_name(driver, charts):
    from selenium.webdriver.common.keys import Keys

    show(driver, charts / "every.html")
    driver.find_element("id", "lead").send_keys("412.5")
    active = "return document.activeElement.className"
    for _ in range(12):
        driver.switch_to.active_element.send_keys(Keys.TAB)
        if driver.execute_script(active) == "hit":
            break
    driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert driver.execute_script("return document.activeElement.getAttribute('aria-expanded')") == "true"
    nameless = "return [...document.querySelectorAll('input, select, textarea')].filter((e) => !e.labels.length).length"
    assert driver.execute_script(nameless) == 0


def test_what_a_shop_is_called_does_no_harm_in_a_browser(driver, charts):
    show(driver, charts / "harm.html")
    assert driver.title.startswith("Tom's <b>")
    assert HARM in driver.find_element("tag name", "h1").text
    assert driver.find_element("css selector", "header code").text == HARM


def test_what_must_be_in_sight_stays_in_sight(driver, charts):
    for size in SIZES:
        show(driver, charts / "every.html", size)
        driver.execute_script(OPEN, 1)
        driver.execute_script("window.scrollTo(0, 900)")
        seen = driver.execute_script(
            "const box = document.querySelector('header').getBoundingClientRect();"
            "return box.top >= 0 && box.bottom <= window.innerHeight / 3"
        )
        assert seen, size
    said = driver.find_element("tag name", "header").text
    for each in ("Millrace workshop", "route worm", "May 1", "every train mounts", "Prove every set-up by hand"):
        assert each in said


NAMED = """
document.querySelector('[name=by][value=item]').click();
return [...document.getElementById('item').options].map((option) => {
  document.getElementById('item').value = option.value;
  answer();
  const row = (document.querySelector('#hits .nearest') || document.querySelector('#hits .lead')).closest('li');
  if (!row.classList.contains('open')) row.firstChild.click();
  const open = document.querySelector('#hits > li.open');
  const said = (name) => open.querySelector('.' + name).textContent;
  return [option.text, said('way'), said('change'), said('dial'), open.querySelector('.setup').textContent];
});
"""


def test_the_chart_of_a_gearbox_tells_when_to_change_and_how_the_tool_comes_back(driver, charts):
    show(driver, charts / "gearbox.html")
    chart = fewest_changes(LATHE, Terms(route="any"), GEARBOX)
    (rows,) = chart.rows
    wanted = {}
    for row, name in enumerate(rows.more["name"].tolist()):
        call = f"{rows.more['route'][row]}:{rows.more['lever'][row]}"
        wanted[name] = call, int(rows.more["change"][row]), rows.lead(row)
    found = driver.execute_script(NAMED)
    assert [name for name, *_ in found] == list(wanted)
    assert len({change for _, change, _ in wanted.values()}) < len(wanted)
    for name, way, change, dial, text in found:
        call, number, lead = wanted[name]
        assert (way, change) == (f"route {call}", f"PUT ON {number}")
        assert dial == f"dial {LATHE.machine.dial.rule(LATHE.machine.screw_lead_mm, lead).short}"
        told = [plain(line) for line in LATHE.machine.catching(lead, 1, LATHE.units)]
        mates = [f"{other}: {each[0]}" for other, each in wanted.items() if each[1] == number]
        assert all(each in text for each in (*told, *mates, f"lever to {call[-1]}", LATHE.machine.engaging(None, None)))


def test_units_change_and_stay_changed(driver, charts):
    show(driver, charts / "every.html")
    driver.find_element("id", "unit").click()
    rows = driver.execute_script(LOOK, ["412.5"])[0]
    assert rows == told(charts / "every.parquet", Fraction("412.5"), "in")
    show(driver, charts / "every.html")
    assert driver.execute_script("return page.unit") == "in"
    driver.execute_script("localStorage.clear()")


def test_a_chart_whose_mounting_was_not_judged_shows_nothing_as_mounting(driver, charts):
    show(driver, charts / "unjudged.html")
    driver.execute_script(OPEN, 0)
    text = driver.find_element("css selector", ".open").text
    assert "NOT JUDGED" in text
    assert driver.find_elements("css selector", ".open svg") == []


def test_an_empty_chart_says_so(driver, charts):
    show(driver, charts / "empty.html")
    assert driver.execute_script(LOOK, ["5"]) == [[]]
    assert "empty" in driver.find_element("id", "said").text


@pytest.mark.parametrize("missing", ["DecompressionStream", "localStorage"])
def test_a_browser_that_lacks_something_answers_all_the_same(driver, charts, missing):
    source = f"Object.defineProperty(window, '{missing}', {{get() {{ throw new Error('not there'); }}}})"
    script = driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": source})
    show(driver, charts / "every.html")
    assert driver.execute_script(LOOK, ["412.5"])[0] == told(charts / "every.parquet", Fraction("412.5"))
    driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def test_where_no_script_runs_a_plain_table_is_seen(driver, charts):
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    driver.get((charts / "every.html").as_uri())
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    shown = "return ['plain', 'ask'].map((id) => document.getElementById(id).offsetHeight > 0)"
    assert driver.execute_script(shown) == [True, False]
    assert driver.execute_script("return document.querySelectorAll('#plain tr').length") > 400


def test_only_the_open_row_is_printed(driver, charts):
    show(driver, charts / "every.html")
    driver.execute_script(OPEN, 1)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    shown = "return [...document.querySelectorAll('#hits > li')].filter((row) => row.offsetHeight).length"
    assert driver.execute_script(shown) == 1
    assert driver.execute_script("return document.getElementById('ask').offsetHeight") == 0
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
