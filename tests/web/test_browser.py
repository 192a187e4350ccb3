"""A real browser on every kind of page: axe, reflow, keyboard, dark mode and print.

Skipped where Chromium or its driver is missing; WHETRULE_BROWSER=1 turns a missing one into a failure.
"""

from __future__ import annotations

import base64
import importlib.util
import os
import re
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

pytestmark = pytest.mark.browser

FLAGS = (
    "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --no-proxy-server"
)
AXE_RULES = {
    # WCAG 2.2 AA; axe leaves target-size out unless it is asked for.
    "rules": {"target-size": {"enabled": True}},
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    "resultTypes": ["violations"],
}
SMALLEST_TARGET = 24
"""CSS pixels a target has in both directions: WCAG 2.2, success criterion 2.5.8."""
INLINE = "p a, li a, td a, th a, dd a, h4 a, label a"
"""Links inside a sentence or a line of text, which 2.5.8 excepts."""


def _missing(what: str) -> None:
    if os.environ.get("WHETRULE_BROWSER") == "1":
        pytest.fail(f"{what} is missing and WHETRULE_BROWSER=1 asks for it")
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="module")
def axe() -> str:
    """Return axe-core's script, as axe-playwright-python ships it; nothing of that package is run."""
    spec = importlib.util.find_spec("axe_playwright_python")
    if spec is None:
        _missing("axe-playwright-python")
    assert spec is not None and spec.submodule_search_locations
    return (Path(spec.submodule_search_locations[0]) / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    chromedriver = shutil.which("chromedriver")
    if chromium is None or chromedriver is None:
        _missing("Chromium or chromedriver")
    try:
        from selenium import webdriver
        from selenium.webdriver.chrome.options import Options
        from selenium.webdriver.chrome.service import Service
    except ImportError:
        _missing("selenium")
    options = Options()
    for flag in (*FLAGS.split(), f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.binary_location = chromium or ""
    browser = webdriver.Chrome(options=options, service=Service(chromedriver))
    yield browser
    browser.quit()


@pytest.fixture(scope="module")
def served(app: Flask) -> Iterator[str]:
    """Serve the application on a free port of the loopback; yield its address."""
    from waitress.server import create_server

    server = create_server(app, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    thread.join(timeout=5)


Open = Callable[..., Any]


@pytest.fixture()
def show(driver: Any, served: str) -> Open:
    """Open a page at a width, light or dark."""

    def open_page(address: str, width: int = 1280, scheme: str = "light") -> Any:
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})
        driver.get(served + address)
        return driver

    return open_page


def violations(driver: Any, axe: str) -> list[str]:
    """Run axe over the page, every fold opened, and return what it finds."""
    driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    driver.execute_script(axe)
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document, arguments[0])"
        ".then(r => done(r.violations), e => done([{id: String(e), nodes: []}]));",
        AXE_RULES,
    )
    return [f"{v['id']}: {v.get('help')} {[n['html'][:160] for n in v['nodes'][:3]]}" for v in found]


def test_axe_itself_finds_a_planted_fault(show: Open, axe: str) -> None:
    driver = show("/about")
    driver.execute_script("document.querySelector('main').insertAdjacentHTML('beforeend', '<input type=text>')")
    assert any(v.startswith("label:") for v in violations(driver, axe))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(show: Open, axe: str, page_address: str, scheme: str) -> None:
    assert violations(show(page_address, scheme=scheme), axe) == []


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_sideways_scrolling(show: Open, page_address: str, width: int) -> None:
    driver = show(page_address, width)
    driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    wide = driver.execute_script("return document.scrollingElement.scrollWidth")
    assert wide <= width


def test_targets_are_large_enough(show: Open, page_address: str) -> None:
    driver = show(page_address, 390)
    driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    small = driver.execute_script(
        "return [...document.querySelectorAll('a, button, input, textarea, select, summary')].filter(e => {"
        "  const b = e.getBoundingClientRect();"
        "  return !e.matches(arguments[1]) && !e.classList.contains('skip') && b.width > 0"
        "    && (b.width < arguments[0] || b.height < arguments[0]);"
        "}).map(e => e.outerHTML.slice(0, 120))",
        SMALLEST_TARGET,
        INLINE,
    )
    assert small == []


def test_keyboard_reaches_the_error_summary_first_and_each_field_from_it(show: Open) -> None:
    from selenium.webdriver.common.keys import Keys

    driver = show("/ask?chip_depth=x&hardness=80&use=flying")
    assert driver.switch_to.active_element.get_attribute("id") == "problem", "focus starts on the summary"
    reached = []
    links = driver.find_elements("css selector", "#problem a")
    for link in links:
        driver.switch_to.active_element.send_keys(Keys.TAB)
        assert driver.switch_to.active_element == link
        reached.append(link.get_attribute("href").split("#")[1])
    assert reached == ["hardness", "use-0", "chip_depth"]
    links[0].send_keys(Keys.ENTER)
    assert driver.switch_to.active_element.get_attribute("id") == "hardness"


def test_keyboard_order_starts_with_the_skip_link_and_focus_shows(show: Open) -> None:
    from selenium.webdriver.common.keys import Keys

    driver = show("/")
    driver.find_element("css selector", "body").send_keys(Keys.TAB)
    skip = driver.switch_to.active_element
    assert skip.get_attribute("href").endswith("#main")
    assert skip.rect["x"] >= 0, "the skip link shows when it has the focus"
    seen = []
    for _ in range(12):
        driver.switch_to.active_element.send_keys(Keys.TAB)
        active = driver.switch_to.active_element
        outline = driver.execute_script("return getComputedStyle(arguments[0]).outlineStyle", active)
        assert outline != "none", active.get_attribute("outerHTML")
        seen.append(active.get_attribute("id") or active.text)
    assert seen.index("Whetrule") < seen.index("Ask") < seen.index("grade") < seen.index("hardness")


def test_the_form_works_by_keyboard_and_without_script(show: Open, driver: Any) -> None:
    from selenium.webdriver.common.keys import Keys

    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show("/")
        driver.find_element("id", "hardness").send_keys("58")
        driver.find_element("id", "use-0").send_keys(Keys.SPACE)
        driver.find_element("id", "grade").send_keys("440C", Keys.ENTER)
        assert driver.current_url.endswith("/ask?grade=440C&hardness=58&use=everyday-carry")
        assert "440C" in driver.find_element("css selector", "h1").text
    finally:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_pictures_stay_inside_their_frames_at_340_pixels(show: Open) -> None:
    driver = show("/ask?grade=440C&hardness=58&use=everyday-carry", 340 + 2 * 20)
    outside = driver.execute_script(
        "return [...document.querySelectorAll('svg.picture text')].filter(t => {"
        "  const a = t.getBoundingClientRect(), b = t.closest('svg').getBoundingClientRect();"
        "  return a.left < b.left - 0.5 || a.right > b.right + 0.5 || a.bottom > b.bottom + 0.5;"
        "}).map(t => t.textContent)"
    )
    assert outside == []


def test_printed_answer_opens_its_folds_and_the_card_fits_one_page(show: Open) -> None:
    driver = show("/ask?grade=440C&hardness=58&use=everyday-carry")
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    shown = driver.execute_script(
        "const height = s => document.querySelector(s).getBoundingClientRect().height;"
        "return {trace: height('#trace ol'), nav: height('header nav'),"
        " address: height('footer .print-only')}"
    )
    assert shown["trace"] > 0 and shown["address"] > 0 and shown["nav"] == 0
    driver = show("/card?grade=440C&hardness=58&use=everyday-carry")
    a4 = {"paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": False}
    printed = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", a4)["data"])
    assert len(re.findall(rb"/Type /Page\b", printed)) == 1
