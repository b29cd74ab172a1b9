"""The set-up sheet as an HTML page: all of it stands there, the picture to scale, and nothing runs but its own."""

import re
import shlex
import time
import xml.etree.ElementTree as ET
from dataclasses import replace
from fractions import Fraction
from html import escape, unescape
from pathlib import Path

import pytest
from browser import SIZES, browser, needs_browser, show
from commands import code_of
from test_pocket import HARM, allowed_alone

import gearsearch
from gearsearch.base.document import plain
from gearsearch.sheet.page import document
from gearsearch.shop.reader import demo_shop, load_shop
from gearsearch.workshop import Workshop

LATHE = str(Path(__file__).parents[1] / "tables" / "lathe.toml")
JOB = {"train": "80/44 48/100", "hand": "right", "length": "60 mm", "diameter": "50 mm", "depth": "5 mm"}


def sheets():
    """Sheets of every kind: of a mill, of a lathe's thread, by the rule of thumb, with a table, that cannot be used."""
    demo = gearsearch.demo()
    return {
        "job": demo.sheet("412.6 mm", disc_cutter="60 mm", **JOB),
        "thread": Workshop(load_shop(LATHE)).sheet(gearsearch.thread("M10")),
        "starts": demo.sheet(gearsearch.lead("450 mm", starts=6), hand="right"),
        "foul": demo.sheet("412.5 mm", train="48/44 80/100", hand="right"),
        "harm": replace(demo, shop=replace(demo_shop(), name=HARM)).sheet("412.5 mm", date=HARM),
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The sheets and their pages, by name."""
    folder, every = tmp_path_factory.mktemp("sheets"), sheets()
    for name, sheet in every.items():
        sheet.save(folder / f"{name}.html")
    return {name: (sheet, folder / f"{name}.html") for name, sheet in every.items()}


def words_of(text):
    """The words of HTML without its tags."""
    return re.findall(r"\w+", unescape(re.sub(r"<[^>]*>", " ", text)))


@pytest.mark.parametrize("name", ["job", "thread", "starts", "foul", "harm"])
def test_all_of_a_sheet_stands_in_its_page_and_nothing_but_its_own_script_may_run(name, made):
    sheet, path = made[name]
    text = path.read_text(encoding="utf-8")
    allowed_alone(text)
    page = " ".join(
        words_of(re.sub(r"<(script|style)>.*?</\1>|<svg.*?</svg>|<input[^>]*>", " ", text, flags=re.DOTALL))
    )
    said = document(sheet.job)
    lines = [said.title, *said.heading, *(note.text for note in said.against)]
    for block in said.blocks:
        lines += [block.title, *block.lines, *(item.text for item in block.items)]
        lines += [cell for row in block.table.rows for cell in row] if block.table else []
    for line in lines:
        for part in re.split(r"\.? Measured _+\.?|_+", plain(line)):
            assert " ".join(words_of(escape(part))) in page
    ticks = sum(item.tick for block in said.blocks for item in block.items)
    assert text.count('type="checkbox"') == ticks > 3
    assert text.count("<script") == text.count("</script>") == 1


def test_the_picture_is_the_train_where_the_judge_put_it_and_its_width_is_to_scale(made):
    sheet, path = made["job"]
    drawn = ET.fromstring(re.search(r"<svg.*?</svg>", path.read_text(encoding="utf-8"), re.DOTALL)[0])
    rounds = [tuple(float(each.get(name)) for name in ("cx", "cy", "r")) for each in drawn.iter("circle")]
    for wheel in sheet.job.checked.fit.placement.wheels:
        for radius in (wheel.tip_radius_mm, wheel.pitch_radius_mm):
            want = pytest.approx((wheel.x_mm, -wheel.y_mm, radius), abs=0.001)
            assert any(each == want for each in rounds)
    scale = Fraction(re.search(r"scale 1 : (\S+)", path.read_text(encoding="utf-8"))[1])
    width, box = float(drawn.get("width").removesuffix("mm")), [float(each) for each in drawn.get("viewBox").split()]
    assert box[2] / width == pytest.approx(float(scale), abs=0.001)
    assert "<svg" not in made["foul"][1].read_text(encoding="utf-8")
    assert {"48", "44", "80", "100"} <= {each.text for each in drawn.iter("text")}


def test_the_same_sheet_has_the_same_page_and_notes_belong_to_the_words_of_the_sheet(made, tmp_path):
    gearsearch.demo().sheet("412.6 mm", disc_cutter="60 mm", **JOB).save(tmp_path / "a.html")
    assert (tmp_path / "a.html").read_bytes() == made["job"][1].read_bytes()
    gearsearch.demo().sheet("412.6 mm", disc_cutter="60 mm", **JOB, date="May 1").save(tmp_path / "b.html")
    gearsearch.demo().sheet("412.6 mm", disc_cutter="61 mm", **JOB).save(tmp_path / "c.html")
    keys = [
        re.search(r'data-key="(.*?)"', Path(tmp_path / f"{name}.html").read_text(encoding="utf-8"))[1] for name in "abc"
    ]
    assert keys[0] == keys[1] != keys[2]


def test_the_command_writes_a_page_and_refuses_what_would_change_nothing_on_it():
    words = ("sheet", "80/44 48/100", "--lead", "412.5mm", "--hand", "right")
    assert code_of(*words, "--date", "May 1", "--out", "job.html") == 0
    assert "Date: May 1" in Path("job.html").read_text(encoding="utf-8")
    assert code_of(*words, "--picture", "error", "--out", "other.html") == 2
    assert not Path("other.html").exists()


@pytest.mark.parametrize(
    "words",
    [
        "80/44,48/100 --lead 412.5mm --hand right --tolerance=-0.1/+0.2mm",
        "--rise 3.6mm --per 85 --diameter 50mm --route spindle --without 127 --without 24 --mounting skip "
        "--wall 36mm 60mm --end-mill 20mm --length 12mm",
    ],
)
def test_the_head_tells_the_command_that_makes_the_same_page_again(words):
    code_of("sheet", *words.split(), "--date", "May 1", "--out", "job.html")
    text = Path("job.html").read_text(encoding="utf-8")
    head = unescape(text[: text.index("</header>")])
    made = shlex.split(re.search("made by: <code>(.*?)</code>", head)[1])
    assert not {"--out", "--date"} & {*made}
    code_of(*made[1:], "--date", "May 1", "--out", "again.html")
    assert Path("again.html").read_text(encoding="utf-8") == text


def test_the_head_says_how_the_mounting_was_judged_and_of_a_sheet_from_python_no_command(made):
    heads = {
        name: unescape(path.read_text(encoding="utf-8").partition("</header>")[0]) for name, (_, path) in made.items()
    }
    assert "mounts on the shop's quadrant" in heads["job"]
    assert "does not mount, judged by the shop's quadrant" in heads["foul"]
    assert not any("made by" in head or "Date:" in head for name, head in heads.items() if name != "harm")
    Workshop(replace(demo_shop(), quadrant=None)).sheet("412.5 mm").save("rule.html")
    assert "judged by the rule of thumb only" in Path("rule.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def driver(tmp_path_factory):
    with browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


HELD = "return [...document.querySelectorAll('[data-keep]')].map((e) => e.checked || e.value)"
OTHER_TAB = """
const held = JSON.parse(localStorage.getItem(STORE));
held.notes = {...held.notes, other: {ticks: [], measured: "7", notes: "", fields: {}}};
localStorage.setItem(STORE, JSON.stringify({...held, gearsearch_notes: 1}));
"""


def again(driver, path):
    """What is ticked and filled in where a page is opened once more."""
    show(driver, path, "phone")
    return driver.execute_script(HELD)


@needs_browser
def test_what_another_open_page_keeps_is_not_lost(driver, made):
    show(driver, made["job"][1])
    driver.execute_script(OTHER_TAB)
    driver.find_element("css selector", "input[type=checkbox]").click()
    notes = driver.execute_script("return JSON.parse(localStorage.getItem(STORE)).notes")
    assert notes["other"]["measured"] == "7"
    assert [note["ticks"] for note in notes.values() if note["ticks"]] == [["tick 5"]]
    driver.execute_script("localStorage.clear()")


@needs_browser
def test_ticks_and_lines_survive_a_reload_and_go_by_a_file(driver, made, tmp_path):
    from selenium.webdriver.support.ui import WebDriverWait

    path, held = made["job"][1], HELD
    assert not any(each not in ("on", "") for each in again(driver, path))
    for box in driver.find_elements("css selector", "input[type=checkbox]")[:3]:
        box.click()
    for field in driver.find_elements("css selector", "input[type=text], textarea"):
        field.send_keys("<b>412.1</b>")
    before = driver.execute_script(held)
    assert before.count(True) == 3
    assert before.count("<b>412.1</b>") == 7
    time.sleep(1)  # a browser hands what a page keeps to its own process a moment later
    assert again(driver, path) == before
    (tmp_path / "notes.json").write_text(driver.execute_script("return JSON.stringify(saved())"), encoding="utf-8")
    driver.execute_script("localStorage.clear()")
    assert True not in again(driver, made["starts"][1])
    assert again(driver, path) != before
    driver.find_element("id", "read").send_keys(str(tmp_path / "notes.json"))
    WebDriverWait(driver, 5, 0.02).until(lambda here: here.execute_script(held) == before)
    assert driver.get_log("browser") == []


@needs_browser
def test_a_sheet_fits_every_screen_its_targets_fit_gloves_and_it_prints_to_scale(driver, made):
    small = (
        "return [...document.querySelectorAll('button, input[type=text], textarea, label.tick, label.file')]"
        ".filter((e) => e.offsetParent && e.getBoundingClientRect().height < 48).length"
    )
    for name, size in zip(made, [*SIZES, *SIZES], strict=False):
        show(driver, made[name][1], size, dark=name == "thread")
        assert driver.execute_script(small) == 0
        assert driver.execute_script("return document.documentElement.scrollWidth <= window.innerWidth"), (name, size)
        nameless = "return [...document.querySelectorAll('input, textarea')].filter((e) => !e.labels.length).length"
        assert driver.execute_script(nameless) == 0
    show(driver, made["job"][1], "desk")
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    width = driver.execute_script("return document.querySelector('svg').getBoundingClientRect().width")
    told = re.search(r'width="([\d.]+)mm"', made["job"][1].read_text(encoding="utf-8"))[1]
    assert width == pytest.approx(float(told) * 96 / 25.4, abs=0.5)
    assert driver.execute_script("return document.querySelector('.keep').offsetHeight") == 0
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


@needs_browser
def test_without_a_script_the_sheet_is_there_and_says_that_nothing_is_kept(driver, made):
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    driver.get(made["job"][1].as_uri())
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    shown = (
        "return ['svg', '.tick', '#kept', '#print'].map((e) => document.querySelector(e).getClientRects().length > 0)"
    )
    assert driver.execute_script(shown) == [True, True, True, False]
    assert "keeps nothing" in driver.find_element("id", "kept").text
