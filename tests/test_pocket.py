"""The pocket chart as a file: what stands in it, what can do harm there, and what is refused."""

import base64
import hashlib
import json
import re
import shutil
import subprocess
import zlib
from dataclasses import replace
from fractions import Fraction
from html import unescape
from pathlib import Path

import numpy as np
import pytest
from commands import code_of
from quadrants import plain
from refusals import refused

import gearsearch.output.pocket as pocket
from gearsearch.charts import making
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.output.pocket import writing
from gearsearch.output.pocket.packed import KINDS, STEPS_IN_MM
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop

SCRIPTS = [Path(pocket.__file__).with_name(name) for name in ("notes.js", "pocket.js")]
HARM = "Tom's <b>&amp; \"Sons\"</b></script><script>document.title='harm'</script><!-- {{rows}}"
NARROW = (Fraction(400), Fraction(425))
needs_node = pytest.mark.skipif(shutil.which("node") is None, reason="no node on this machine")


def written(chart, name="a.html", **imprint):
    """The text of a chart's page."""
    write_chart(chart, [name], Imprint(**imprint), overwrite=True)
    return Path(name).read_text(encoding="utf-8")


def held(text):
    """What a page's script knows, and the columns of its rows."""
    about = json.loads(re.search(r'id="about">(.*?)</script>', text, re.DOTALL)[1])
    rows = zlib.decompress(base64.b64decode(re.search(r'id="rows">(.*?)</script>', text, re.DOTALL)[1]), -15)
    assert len(rows) == about["bytes"]
    columns, at, count = {}, 0, about["rows"]
    for name, kind in about["columns"]:
        wide = np.dtype(KINDS[kind]).itemsize
        planes = np.frombuffer(rows[at : at + wide * count], np.uint8).reshape(wide, count)
        columns[name] = planes.T.copy().view(KINDS[kind])[:, 0]
        at += wide * count
    assert at == len(rows)
    return about, columns


def test_every_row_stands_in_the_page_with_its_studs_where_the_judge_put_them():
    shop = demo_shop()
    chart = making.every(shop, Terms(), NARROW)
    about, columns = held(written(chart))
    rows = list(chart.rows)
    assert columns["lead_num"].tolist() == [int(n) for part in rows for n in part.num]
    row = stood = 0
    for part in rows:
        for at in range(len(part)):
            for hand, trains in part.hands.items():
                serves = trains.pairs[at] > 0 and part.own[hand][at]
                assert (columns[f"state_{hand}"][row] == 1) == serves
                if serves:
                    verdict = chart.source.judge.place(trains.train(chart.source.pool, at))
                    for stud in verdict.placement.studs:
                        place = [columns[f"{axis}{stud.number - 1}_{hand}"][row] / STEPS_IN_MM for axis in "xy"]
                        assert place == pytest.approx([stud.x_mm, stud.y_mm], abs=1e-5)
                        stood += 1
            row += 1
    assert row == about["rows"] > 100
    assert stood > 200


def test_the_demo_of_both_hands_and_two_pairs_stays_under_a_megabyte():
    assert len(written(making.every(demo_shop(), Terms())).encode()) < 1_000_000


def test_nothing_but_the_page_s_own_script_and_style_may_run():
    allowed_alone(written(making.every(demo_shop(), Terms(pairs=(1, 1)))))


def allowed_alone(text):
    """Hold that a page lets nothing run or be fetched but its own script and style."""
    policy = unescape(re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1])
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    for kind, tag in (("script", "<script>(.*?)</script>"), ("style", "<style>(.*?)</style>")):
        (inner,) = re.findall(tag, text, re.DOTALL)
        assert f"{kind}-src 'sha256-{base64.b64encode(hashlib.sha256(inner.encode()).digest()).decode()}'" in policy
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)|<link|<img|@import|style=\"| on\w+=\"", text)


def test_what_a_shop_is_called_does_no_harm():
    shop = replace(demo_shop(), name=HARM)
    text = written(making.every(shop, Terms(pairs=(1, 1))), command=HARM, date=HARM)
    assert text.count("<script") == text.count("</script>") == 3
    assert held(text)[0]["shop"] == HARM
    assert "<b>&amp;" not in text


def test_the_heading_says_whose_shop_it_is_and_a_date_only_where_one_was_given():
    chart, own = (
        making.every(shop, Terms(), NARROW) for shop in (demo_shop(), replace(demo_shop(), source="own.toml"))
    )
    heads = [
        re.search("<h1>(.*?)</h1>", text)[1] for text in (written(chart), written(own), written(chart, date="May 1"))
    ]
    assert heads == [
        "Millrace workshop (demo shop) · route worm",
        "Millrace workshop · route worm",
        "Millrace workshop (demo shop) · route worm · May 1",
    ]


def test_a_page_of_the_same_chart_has_the_same_bytes():
    chart = making.every(demo_shop(), Terms(), NARROW)
    assert written(chart) == written(chart, "b.html")


def test_a_chart_whose_mounting_was_not_judged_says_so_and_holds_no_place():
    about, columns = held(written(making.every(demo_shop(), Terms(pairs=(1, 1), mounting="skip"))))
    assert (about["mounts"], about["bracket"]) == ("unknown", None)
    assert not [name for name in columns if re.match("[xy]\\d", name)]


def test_an_empty_chart_is_written_and_says_so():
    text = written(making.every(demo_shop(), Terms(), (Fraction("359.99999"), Fraction("359.999999"))))
    assert held(text)[0]["rows"] == 0
    assert "no train does this" in text


def test_a_browser_without_the_script_has_a_plain_table():
    text = written(making.every(demo_shop(), Terms(), NARROW))
    assert text.index('id="plain"') < text.index("<table>")
    assert len(re.findall("<tr>", text)) > 100


def test_more_rows_than_a_tablet_bears_are_refused_with_what_would_help(monkeypatch):
    monkeypatch.setattr(writing, "MOST_LEADS", 100)
    with refused("too-many-rows", "100", "--thin", "--from"):
        written(making.every(demo_shop(), Terms()))
    assert not Path("a.html").exists()


def test_a_grid_is_refused_before_any_work():
    with refused("no-grid", "every"):
        written(making.grid(demo_shop(), Terms(), [Fraction(20)], [Fraction(20)]))


def test_a_list_keeps_the_names_of_what_is_wanted():
    assert code_of("chart", "list", "iso-261", "--route", "spindle", "--out", "l.html") == 0
    about, _ = held(Path("l.html").read_text(encoding="utf-8"))
    assert len(about["items"]) > 20
    assert {"name", "wanted"} == set(about["items"][0])


def test_a_shop_of_joined_pieces_tells_them():
    shop = plain((24, 32, 48, 100))
    shop = replace(shop, gears=(replace(shop.gears[0], joined=((40, 60),)),))
    about, _ = held(written(making.every(shop, Terms())))
    assert [[about["sizes"][one]["teeth"] for one in piece["gears"]] for piece in about["pieces"]] == [[40, 60]]


ALONE = """
const p = require(process.argv[1]);
const zlib = require("zlib");
let seed = 7;
const random = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
for (let turn = 0; turn < 60; turn += 1) {
  const bytes = Uint8Array.from({ length: Math.floor(random() * 70000) }, () => Math.floor(random() ** 3 * 256));
  const options = [{ level: 9 }, { level: 0 }, { strategy: zlib.constants.Z_FIXED }][turn % 3];
  const back = p.inflated(zlib.deflateRawSync(bytes, options), bytes.length);
  if (Buffer.compare(Buffer.from(back), Buffer.from(bytes))) throw new Error(`inflate ${turn}`);
}
const tell = (x) => p.textOf(x);
const lead = ([text, unit]) => tell(p.readLead(text, unit));
const refused = (text) => { try { return lead([text, "mm"]); } catch (e) { return e.constructor.name; } };
const whole = (text) => p.decimals(p.frac(...text.split("/")), 0);
console.log(JSON.stringify({
  leads: [["412.5", "mm"], ["16 1/4", "in"], ["16-1/4 in", "mm"], ["11", "tpi"], ["11 1/2", "tpi"], ['0.25"', "mm"]]
    .map(lead),
  angles: ["17.75", "17°45'", "17d45m30s", "17° 45′ 30″"].map((text) => tell(p.readAngle(text, "angle"))),
  shares: ["200 ppm", "0.1%"].map((text) => tell(p.readShare(text))),
  halves: ["1/2", "3/2", "-1/2", "-3/2", "5/2", "-7/3"].map(whole),
  refusals: ["", "1,5", "x", "0", "-3", "5 furlong", "1/0"].map(refused),
}));
"""


@needs_node
def test_the_script_by_itself():
    whole = Path("page.js").resolve()
    whole.write_text("\n".join(each.read_text(encoding="utf-8") for each in SCRIPTS), encoding="utf-8")
    done = subprocess.run(["node", "-e", ALONE, str(whole)], capture_output=True, text=True, check=True)
    told = json.loads(done.stdout)
    assert told["leads"] == ["825/2", "1651/4", "1651/4", "127/55", "254/115", "127/20"]
    assert told["angles"] == ["71/4", "71/4", "2131/120", "2131/120"]
    assert told["shares"] == ["1/5000", "1/1000"]
    assert told["halves"] == ["0", "2", "0", "-2", "2", "-2"]
    assert told["refusals"] == ["Mistake"] * 7
