"""The pocket chart: bytes of the demo's file, and in Chromium how long 250 000 rows take to open and to answer.

python benchmarks/pocket.py [rows]
"""

import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from browser import browser, show

from gearsearch.charts import making
from gearsearch.charts.rows import LeadRows
from gearsearch.output.pocket.writing import page
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop

_LOOK = """
const begun = performance.now();
document.getElementById('lead').value = arguments[0];
answer();
document.body.offsetHeight;
return performance.now() - begun;
"""


def many(rows: LeadRows, count: int) -> LeadRows:
    """The same trains again and again, each time at longer leads, so that no two are alike nor neighbours."""
    parts = []
    for copy in range(-(-count // len(rows))):
        num, den = rows.num * (10**6 + 34567 * copy), rows.den * 10**6
        common = np.gcd(num, den)
        parts.append(replace(rows, num=num // common, den=den // common, lead_mm=num / den))
    whole = LeadRows.joined(parts)
    return whole.take(np.argsort(whole.lead_mm, kind="stable")[:count])


def main() -> None:
    """Print the figures."""
    chart = making.every(demo_shop(), Terms())
    rows = LeadRows.joined(list(chart.rows))
    print(f"demo, both hands, two pairs: {len(rows)} rows, {len(page(chart, rows, 'x', '').encode()):,} bytes")
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 250_000
    with tempfile.TemporaryDirectory() as folder, browser(Path(folder)) as driver:
        file = Path(folder) / "many.html"
        begun = time.perf_counter()
        file.write_text(page(chart, many(rows, count), "x", ""), encoding="utf-8")
        print(f"{count} rows: {file.stat().st_size:,} bytes, written in {time.perf_counter() - begun:.1f} s")
        for _ in range(3):
            begun = time.perf_counter()
            show(driver, file)
            print(f"  opened in {time.perf_counter() - begun:.2f} s")
        leads = np.geomspace(float(rows.lead_mm[0]), float(rows.lead_mm[-1]), 50)
        took = [driver.execute_script(_LOOK, f"{lead:.3f}") for lead in leads]
        print(f"  a look-up: median {statistics.median(took):.1f} ms, worst {max(took):.1f} ms")
        toggled = "const t=performance.now(); document.querySelector('.gear').click(); return performance.now()-t"
        print(f"  a gear touched: {driver.execute_script(toggled):.0f} ms")


if __name__ == "__main__":
    main()
