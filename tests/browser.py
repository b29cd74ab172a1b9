"""A real browser for the tests of a page, where the machine has one: Chromium, and what drives it."""

import json
import os
import shutil
from contextlib import contextmanager

import pytest

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900)}
_ARGUMENTS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


def missing():
    """Why no page can be opened here; empty where one can."""
    try:
        import selenium  # noqa: F401
    except ModuleNotFoundError:
        return "selenium is not installed"
    lacking = [name for name, path in (("chromium", CHROMIUM), ("chromedriver", DRIVER)) if path is None]
    return f"no {' and no '.join(lacking)} on this machine" if lacking else ""


MUST_RUN = "NEEDS_BROWSER" in os.environ  # as in .ci/run: what cannot be opened then fails
needs_browser = pytest.mark.skipif(
    bool(missing()) and not MUST_RUN, reason=f"the pocket chart is not opened in a browser: {missing()}"
)


@contextmanager
def browser(folder):
    """A browser of its own, with an empty profile in a folder, that tells all it sends and complains of."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in (*_ARGUMENTS, f"--user-data-dir={folder / 'profile'}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    options.add_experimental_option("prefs", {"download.default_directory": str(folder)})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    try:
        yield driver
    finally:
        driver.quit()


@contextmanager
def quiet(driver):
    """Nothing is sent anywhere, and nothing complained of."""
    driver.get_log("performance")
    yield
    sent = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    asked = [each["params"] for each in sent if each["method"] == "Network.requestWillBeSent"]
    ours = [each["request"]["url"] for each in asked if each["documentURL"].startswith("file:")]
    assert [url for url in ours if not url.startswith(("file:", "blob:", "data:"))] == []
    assert driver.get_log("browser") == []


def show(driver, path, size="desk", dark=False):
    """Open a page at a size, in light or dark, and wait until its script has begun."""
    from selenium.webdriver.support.ui import WebDriverWait

    width, height = SIZES[size]
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": size == "phone"}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
    driver.get(path.as_uri())
    live = "return document.documentElement.classList.contains('live')"
    WebDriverWait(driver, 20, 0.02).until(lambda here: here.execute_script(live))
