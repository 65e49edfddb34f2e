"""A phone for tests: headless Chromium at a phone's size, without a network, at any time."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement

#: CSS pixels of a common phone, and device pixels to each.
WIDTH, HEIGHT, RATIO = 390, 844, 3
_WORDS = (
    "--headless=new",
    "--no-sandbox",  # root has none
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--hide-scrollbars",
)


_PATIENCE_S = 40.0


def _program(*names: str) -> str:
    found = next((path for name in names if (path := shutil.which(name))), None)
    assert found, f"{names[0]} is missing: install the packages that README names for the tests"
    return found


class Phone:
    """A page on a phone; times are UTC seconds."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver
        self._script: str | None = None

    def open(self, path: Path, time_s: float) -> None:
        """Open a file with the phone's clock at an instant, from which it runs on."""
        if self._script is not None:
            words = {"identifier": self._script}
            self.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", words)
        source = (
            "{ const real = Date.now.bind(Date), from = real();"
            f" window.phoneClock = {1000.0 * time_s};"
            " Date.now = () => window.phoneClock + real() - from; }"
        )
        added = self.driver.execute_cdp_cmd(
            "Page.addScriptToEvaluateOnNewDocument", {"source": source}
        )
        self._script = added["identifier"]
        self.driver.get(path.as_uri())

    def reopen_until(self, path: Path, time_s: float, holds: Callable[[], bool]) -> None:
        """Open a file again and again until something holds, some seconds at the most."""
        end_s = time.monotonic() + _PATIENCE_S
        self.open(path, time_s)
        while not holds():
            assert time.monotonic() < end_s
            time.sleep(0.2)
            self.open(path, time_s)

    def sleep_until(self, time_s: float) -> None:
        """Move the clock on at once, as when the phone slept, and let the page notice."""
        self.driver.execute_script("window.phoneClock += arguments[0] - Date.now();", 1000 * time_s)
        self.driver.execute_script("document.dispatchEvent(new Event('visibilitychange'));")

    def part(self, name: str) -> WebElement:
        """The part of the page with an id."""
        return self.driver.find_element(By.ID, name)

    def text(self, name: str) -> str:
        """What stands in the part with an id, as it is shown."""
        return self.part(name).text

    def log(self, kind: str) -> list[dict[str, str]]:
        """What the browser noted since it was last asked: its own words, or what was fetched."""
        found: list[dict[str, str]] = self.driver.get_log(kind)  # type: ignore[no-untyped-call]
        return found

    def measure(self, script: str) -> object:
        """What a line of the page's own language gives."""
        found: object = self.driver.execute_script(f"return {script};")
        return found


@contextmanager
def phone(zone: str) -> Iterator[Phone]:
    """A phone whose own clock is in a time zone."""
    options = webdriver.ChromeOptions()
    options.binary_location = _program("chromium", "chromium-browser", "google-chrome")
    for word in _WORDS:
        options.add_argument(word)
    metrics = {"width": WIDTH, "height": HEIGHT, "pixelRatio": RATIO}
    options.add_experimental_option("mobileEmulation", {"deviceMetrics": metrics})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(_program("chromedriver")))
    try:
        driver.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": zone})
        driver.execute_cdp_cmd("Network.enable", {})
        offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
        yield Phone(driver)
    finally:
        driver.quit()
