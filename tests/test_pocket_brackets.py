"""The pocket chart in a real browser, on made-up brackets: an opened row sets a train up in the words of ``check``."""

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest
from browser import browser, needs_browser, quiet, show
from made_up_brackets import made_up_case
from quadrants import LAYOUTS, made_up_pieces, made_up_shop
from slow import some

from gearsearch.base.errors import GearsearchError
from gearsearch.charts import making
from gearsearch.mounting.placement import Names, placement_lines
from gearsearch.output.chart_files import write_chart
from gearsearch.search.terms import Terms
from gearsearch.shop.trains import Train

pytestmark = needs_browser

SETTINGS = """
const found = [];
const chart = page.chart;
for (let row = 0; row < chart.about.rows; row += 1) {
  for (const hand of chart.about.hands) {
    if (isThere(chart, chart.shown, row, hand)) {
      const stand = standOf(chart, row, hand);
      const picture = drawn(chart.about, stand, 'mm');
      const [x, y, wide, high] = picture.getAttribute('viewBox').split(' ').map(Number);
      for (const count of picture.querySelectorAll('.count')) {
        const [tx, ty, size] = ['x', 'y', 'font-size'].map((name) => Number(count.getAttribute(name)));
        const half = count.textContent.length * size * 0.33;
        const isIn = tx - half > x && tx + half < x + wide && ty - size / 2 > y && ty + size / 2 < y + high;
        if (!isIn) throw new Error(`cut off: ${picture.outerHTML}`);
      }
      found.push([trainText(chart, row, hand), hand, ...['mm', 'in'].map((unit) => studLines(chart, stand, unit))]);
    }
  }
}
return found;
"""


def made_up(seed):
    """A shop with gears to chart, on a bracket of any kind."""
    rng = random.Random(seed)
    if seed % 3 == 0:
        return made_up_pieces(rng)
    shop = made_up_shop(rng, most=7, layouts=LAYOUTS, free=True)
    case = made_up_case(rng) if seed % 3 == 1 else None
    return shop if case is None else replace(shop, quadrant=case[0].quadrant)


def alike(lines, wanted):
    """Whether lines say the same but for one in the last digit of their figures."""
    figure = re.compile(r"[-+]?\d+\.\d+")
    told, figures = ([figure.findall(line) for line in each] for each in (lines, wanted))
    pairs = [pair for one, other in zip(told, figures, strict=True) for pair in zip(one, other, strict=True)]
    near = all(abs(float(a) - float(b)) <= 1.01 * 10.0 ** -len(b.partition(".")[2]) for a, b in pairs)
    return near and [figure.sub("", line) for line in lines] == [figure.sub("", line) for line in wanted]


@pytest.mark.parametrize("seeds", some([range(9), range(9, 33)]), ids=str)
def test_every_train_on_any_bracket_is_set_up_in_the_words_of_check(seeds, tmp_path):
    with browser(tmp_path) as driver, quiet(driver):
        held, odd, kinds = _held(driver, seeds)
    assert held > 100
    assert odd <= held / 100
    assert {layout for layout, _ in kinds} == {"slot", "slots", "plate"}


def _held(driver, seeds):
    """How many trains say what ``check`` says, how many of them but for a last digit, and on which kinds of bracket."""
    held, odd, kinds = 0, 0, set()
    for seed in seeds:
        shop = made_up(seed)
        try:
            chart = making.every(shop, Terms())
        except GearsearchError:  # its few gears make no train
            continue
        write_chart(chart, [f"{seed}.html"])
        show(driver, Path(f"{seed}.html").resolve())
        for text, hand, *told_in in driver.execute_script(SETTINGS):
            for unit, lines in zip(("mm", "in"), told_in, strict=True):
                train = Train.parse(text)
                names = Names(replace(shop, units=unit), chart.source.route, train.studs)
                verdict = chart.source.judge.place(train)
                wanted = placement_lines(verdict.placement, names)
                if lines != wanted:  # a figure that lies nearly on a half, of the places as they are packed
                    assert alike(lines, wanted), (seed, text, hand)
                    odd += 1
            held += 1
            kinds.add((shop.quadrant.bracket.layout, len(lines) > 2))
    return held, odd, kinds
