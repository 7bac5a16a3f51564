"""The pages in a real browser: widths, scripts off, keyboard only, out of reach, looked through.

Chromium and its driver come from the system's packages (chromium, chromium-driver); without them
these tests are skipped, naming them. axe-core (MPL-2.0) is the copy in axe-playwright-python.
"""

import importlib.util
import json
import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from page.conftest import CODE, Home
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

PATHS = ["/", "/away", "/tree?label=3", "/tree?label=15", "/recovering", "/weather", "/history",
         "/garden", "/form/tree", "/form/tree?subject=3", "/form/place", "/form/mix",
         "/form/repotted?subject=3", "/form/moved?subject=3", "/nothere"]
WIDTHS = (320, 390, 1280)
CHROMIUM, DRIVER = (shutil.which(name) for name in ("chromium", "chromedriver"))
pytestmark = [
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="needs chromium and chromium-driver"),
    pytest.mark.filterwarnings("ignore::ResourceWarning")]


def browser(width: int = 390, dark: bool = False, scripts: bool = True,
            more: Sequence[str] = ()) -> webdriver.Chrome:
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM or ""
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                     "--no-proxy-server", f"--window-size={width},900", *more):
        options.add_argument(argument)
    if not scripts:
        options.add_experimental_option(
            "prefs", {"profile.managed_default_content_settings.javascript": 2})
    made = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    made.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
        "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600})
    made.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [
        {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]})
    made.set_script_timeout(90)
    made.implicitly_wait(5)
    return made


@pytest.fixture(scope="module")
def chrome() -> Iterator[webdriver.Chrome]:
    made = browser()
    yield made
    made.quit()


@pytest.fixture
def there(chrome: webdriver.Chrome, served: Home) -> Iterator[webdriver.Chrome]:
    """The round, open in a browser that remembers nothing."""
    chrome.get(served.url)
    chrome.execute_script("localStorage.clear()")
    chrome.delete_all_cookies()
    chrome.get(served.url)
    yield chrome
    reach(chrome, True)


def reach(chrome: webdriver.Chrome, there: bool) -> None:
    """Take the network away, or give it back."""
    chrome.execute_cdp_cmd("Network.enable", {})
    chrome.execute_cdp_cmd("Network.emulateNetworkConditions", {
        "offline": not there, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})


def wait(chrome: webdriver.Chrome, until: Callable[[], Any]) -> Any:
    return WebDriverWait(chrome, 20, poll_frequency=0.05, ignored_exceptions=[
        StaleElementReferenceException]).until(lambda _: until())  # a list may be drawn anew


def tick(chrome: webdriver.Chrome, label: str) -> None:
    chrome.find_element(By.CSS_SELECTOR, f'button[name=tree][value="{label}"]').click()


def said(chrome: webdriver.Chrome) -> str:
    return chrome.find_element(By.ID, "sent").text


def waiting(chrome: webdriver.Chrome) -> list[dict[str, Any]]:
    kept = chrome.execute_script("return localStorage.getItem('advisor.waiting')")
    return json.loads(kept or "[]")


# --- looked through ----------------------------------------------------------------------


AXE = """
const done = arguments[arguments.length - 1];
axe.run(document, {preload: false, runOnly: {type: "tag", values: ["wcag2a", "wcag2aa",
  "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]},
  rules: {"color-contrast-enhanced": {enabled: true}}})
  .then((found) => done(found.violations.map((v) => [v.impact, v.id,
    v.nodes.map((n) => n.html.slice(0, 120) + " " + n.failureSummary)])),
    (fault) => done([["critical", String(fault), []]]));
"""
SMALL = """
return [...document.querySelectorAll(
    "a, button, input:not([type=hidden]), select, summary, textarea")]
  .filter((e) => e.offsetParent !== null).map((e) => {
    const at = (e.type === "checkbox" ? e.closest("label") : e).getBoundingClientRect();
    return [e.outerHTML.slice(0, 90), at.width, at.height]; })
  .filter(([, width, height]) => height > 0 && (height < 47.5 || width < 40));
"""
LETTERS = """
return [...document.querySelectorAll("main *, nav *")].filter((e) => e.offsetParent !== null
  && [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
  .map((e) => parseFloat(getComputedStyle(e).fontSize)).reduce((a, b) => Math.min(a, b), 99);
"""


def axe_script() -> str:
    spec = importlib.util.find_spec("axe_playwright_python")
    assert spec is not None
    assert spec.origin is not None
    return (Path(spec.origin).parent / "axe.min.js").read_text()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_every_page_at_every_width(served: Home, dark: bool) -> None:
    """Nothing sticks out, letters and targets are large, axe-core finds no serious fault."""
    shots = os.environ.get("ADVISOR_SHOTS")
    script = axe_script()
    for width in WIDTHS:
        chrome = browser(width, dark)
        try:
            for path in PATHS:
                chrome.get(served.url + path)
                where = f"{path} at {width}"
                assert chrome.execute_script(
                    "return document.documentElement.scrollWidth") <= width, where
                assert chrome.execute_script(LETTERS) >= 18.0, where
                assert chrome.execute_script(SMALL) == [], where
                if shots:
                    name = f"{width}-{'dark' if dark else 'light'}-{PATHS.index(path)}.png"
                    chrome.save_screenshot(str(Path(shots) / name))
                chrome.execute_script(script)
                found = chrome.execute_async_script(AXE)
                assert [each for each in found if each[0] in ("serious", "critical")] == [], where
        finally:
            chrome.quit()


def test_the_round_needs_one_style_sheet_and_nothing_from_outside(there: webdriver.Chrome,
                                                                  served: Home) -> None:
    loaded = there.execute_script(
        "return performance.getEntriesByType('resource').map((e) => e.name)")
    assert all(name.startswith(served.url) for name in loaded)
    assert [name for name in loaded if name.endswith(".css")] == [f"{served.url}/static/page.css"]
    weight = there.execute_script("""return performance.getEntries().reduce(
        (sum, e) => sum + (e.encodedBodySize || 0), 0)""")
    assert weight < 100_000


# --- ticks -------------------------------------------------------------------------------


def test_a_tick_shows_and_is_taken_back(there: webdriver.Chrome, served: Home) -> None:
    before = len(served.waterings("3"))
    tick(there, "3")
    wait(there, lambda: "Watered 3" in said(there))
    wait(there, lambda: there.find_elements(
        By.XPATH, '//li[contains(@class, "done")]//b[text()="3"]'))
    assert len(served.waterings("3")) == before + 1
    there.find_element(By.XPATH, '//button[text()="Take back"]').click()
    wait(there, lambda: "Taken back" in said(there))
    assert len(served.waterings("3")) == before


def test_a_tick_made_out_of_reach_waits_survives_a_reload_and_is_sent_once(
        there: webdriver.Chrome, served: Home) -> None:
    before = served.waterings("3")
    reach(there, False)
    tick(there, "3")
    wait(there, lambda: "Waiting to be sent: Watered 3" in said(there))
    assert "waiting to be sent" in there.find_element(By.ID, "round").text
    assert len(waiting(there)) == 1
    served.clock.on(minutes=20)
    reach(there, True)
    there.refresh()
    wait(there, lambda: not waiting(there))
    after = served.waterings("3")
    assert len(after) == len(before) + 1
    assert served.clock() - after[-1] < timedelta(minutes=1)


def test_an_answer_that_is_lost_does_not_double_a_tick(there: webdriver.Chrome,
                                                       served: Home) -> None:
    before = len(served.waterings("3"))
    there.execute_script("""
      const plain = window.fetch; let lost = 0;
      window.fetch = async (path, how) => { const answer = await plain(path, how);
        if (how?.method === "POST" && lost++ === 0) throw new TypeError("lost"); return answer; };
    """)
    tick(there, "3")
    wait(there, lambda: "Waiting to be sent" in said(there))
    assert len(served.waterings("3")) == before + 1
    there.execute_script("dispatchEvent(new Event('online'))")
    wait(there, lambda: not waiting(there))
    assert len(served.waterings("3")) == before + 1


def test_a_waiting_tick_can_be_taken_back(there: webdriver.Chrome, served: Home) -> None:
    before = len(served.waterings("3"))
    reach(there, False)
    tick(there, "3")
    wait(there, lambda: "Waiting to be sent" in said(there))
    there.find_element(By.XPATH, '//button[text()="Take back the last"]').click()
    wait(there, lambda: not waiting(there))
    reach(there, True)
    there.execute_script("dispatchEvent(new Event('online'))")
    assert len(served.waterings("3")) == before


def test_a_bench_but_one(there: webdriver.Chrome, served: Home) -> None:
    now = served.clock()
    there.find_element(By.CSS_SELECTOR, "section summary").click()
    there.find_element(By.CSS_SELECTOR, 'input[name="of-0"][value="2"]').click()
    there.find_element(By.CSS_SELECTOR, 'button[name=bench][value="0"]').click()
    wait(there, lambda: "Watered 1, 3" in said(there))
    assert now in served.waterings("1")
    assert now not in served.waterings("2")


def test_two_phones_on_one_tree(there: webdriver.Chrome, served: Home) -> None:
    served.phone().post("/watered", {"tree": "3"})
    before = len(served.waterings("3"))
    served.clock.on(minutes=1)
    tick(there, "3")
    wait(there, lambda: "twice in half an hour" in said(there))
    assert len(served.waterings("3")) == before + 1


def test_a_reading_is_refused_at_its_form_and_mended(there: webdriver.Chrome,
                                                     served: Home) -> None:
    there.get(f"{served.url}/tree?label=3")
    field = there.find_element(By.NAME, "told-dry-depth")
    field.send_keys("deep")
    there.find_element(By.XPATH, '//button[text()="Enter the reading"]').click()
    wait(there, lambda: there.find_elements(By.CSS_SELECTOR, "form p.fault"))
    assert field.get_attribute("value") == "deep"
    field.clear()
    field.send_keys("25")
    there.find_element(By.XPATH, '//button[text()="Enter the reading"]').click()
    wait(there, lambda: "dry to 25 mm" in said(there))
    assert any("dry to 25 mm" in words for words in served.entries())


def test_keyboard_only(there: webdriver.Chrome, served: Home) -> None:
    before = len(served.waterings("1"))
    body = there.find_element(By.TAG_NAME, "body")
    for _ in range(60):
        body = there.switch_to.active_element
        if body.get_attribute("name") == "tree" and body.get_attribute("value") == "1":
            break
        body.send_keys(Keys.TAB)
    assert body.get_attribute("value") == "1"
    assert there.execute_script("return getComputedStyle(document.activeElement).outlineWidth"
                                ) == "4px"
    body.send_keys(Keys.ENTER)
    wait(there, lambda: "Watered 1" in said(there))
    wait(there, lambda: there.switch_to.active_element.get_attribute("value") == "1")
    assert len(served.waterings("1")) == before + 1


def test_with_scripts_off(served: Home) -> None:
    before = len(served.waterings("3"))
    chrome = browser(scripts=False)
    try:
        chrome.get(served.url)
        tick(chrome, "3")
        wait(chrome, lambda: "Watered 3" in chrome.find_element(By.CSS_SELECTOR, "form.done").text)
        assert len(served.waterings("3")) == before + 1
        chrome.find_element(By.CSS_SELECTOR, "form.done button").click()
        wait(chrome, lambda: len(served.waterings("3")) == before)
        chrome.get(f"{served.url}/form/place")
        chrome.find_element(By.NAME, "told-name").send_keys("roof")
        chrome.find_element(By.NAME, "told-rain").send_keys("7")
        chrome.find_element(By.CSS_SELECTOR, "button.main").click()
        wait(chrome, lambda: chrome.find_element(By.CSS_SELECTOR, ".fault").is_displayed())
        rain = chrome.find_element(By.NAME, "told-rain")
        assert rain.get_attribute("value") == "7"
        rain.clear()
        rain.send_keys("0.5")
        chrome.find_element(By.CSS_SELECTOR, "button.main").click()
        wait(chrome, lambda: "Place added: roof" in chrome.find_element(By.ID, "main").text)
    finally:
        chrome.quit()


def test_pairing_a_wrong_code_and_a_session_that_ended(served_lan: Home,
                                                       chrome: webdriver.Chrome) -> None:
    chrome.get(served_lan.url)
    chrome.execute_script("localStorage.clear()")
    assert chrome.current_url.endswith("/pair")
    chrome.find_element(By.NAME, "code").send_keys("WRONG234")
    chrome.find_element(By.CSS_SELECTOR, "button.main").click()
    wait(chrome, lambda: "not the code" in chrome.find_element(By.ID, "fault").text)
    chrome.get(f"{served_lan.url}/pair?code={CODE}")
    chrome.find_element(By.CSS_SELECTOR, "button.main").click()
    wait(chrome, lambda: "South bench" in chrome.find_element(By.ID, "main").text)
    before = len(served_lan.waterings("3"))
    chrome.delete_all_cookies()
    tick(chrome, "3")
    wait(chrome, lambda: "not paired any more" in said(chrome))
    assert len(waiting(chrome)) == 1
    chrome.get(f"{served_lan.url}/pair?code={CODE}")
    chrome.find_element(By.CSS_SELECTOR, "button.main").click()
    wait(chrome, lambda: not waiting(chrome))
    assert len(served_lan.waterings("3")) == before + 1
