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
from urllib.parse import urlencode

import pytest
from flask import Flask

pytestmark = pytest.mark.browser

QUESTION = "grade=440C&hardness=58&use=everyday-carry"
FULL = urlencode(
    {
        "abrasive": "natural",
        "chip_depth": "1",
        "edge_length": "200",
        "edge_state": "chipped",
        "edge_thickness": "0.6",
        "grade": "D2",
        "hardness": "61",
        "kit": "diamond plated D151\ndiamond resin 400 JIS\ndiamond resin 1000 JIS\ndiamond resin 3000 JIS\n"
        "diamond resin 8000 JIS\nleather board 1 um firm",
        "method": "guided-rod",
        "present_angle": "25",
        "use": "camp",
        "wish": "refinement",
    }
)
"""A worn knife with a full kit, whose card is about as long as cards get."""

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
    "preload": False,  # of style sheets and media: no rule that runs here reads them
}
AXE_COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
WIDTHS = (320, 390, 1280)
ENTRIES_KEPT = 12
LONGEST_ON_A_PHONE = 9000
"""CSS pixels of an answer at 390 across, its folds closed: ten screens."""
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
    """Open a page at a width, in light colours."""

    def open_page(address: str, width: int = 1280) -> Any:
        resize(driver, width)
        colours(driver, "light")
        driver.get(served + address)
        return driver

    return open_page


def unfold(driver: Any) -> None:
    driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")


def resize(driver: Any, width: int) -> None:
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def colours(driver: Any, scheme: str) -> None:
    feature = {"name": "prefers-color-scheme", "value": scheme}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})


def violations(driver: Any, options: dict[str, Any]) -> list[str]:
    """Run axe, loaded before, over the page, and return what it finds."""
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document, arguments[0])"
        ".then(r => done(r.violations), e => done([{id: String(e), nodes: []}]));",
        options,
    )
    return [f"{v['id']}: {v.get('help')} {[n['html'][:160] for n in v['nodes'][:3]]}" for v in found]


def test_axe_itself_finds_a_planted_fault(show: Open, axe: str) -> None:
    driver = show("/about")
    driver.execute_script(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<input type=text>"
        "<p id=faint>faint</p>'); document.getElementById('faint').style.color = '#f0f0ea'"
    )
    driver.execute_script(axe)
    assert [v.split(":")[0] for v in violations(driver, AXE_RULES)] == ["color-contrast", "label"]
    assert [v.split(":")[0] for v in violations(driver, AXE_COLOURS)] == ["color-contrast"]


def test_a_page_unfolded_is_accessible_and_fits_every_width(show: Open, axe: str, page_address: str) -> None:
    """Reflow and size of the targets; axe in light; its colour rules in dark, where nothing else differs."""
    driver, faults = show(page_address, WIDTHS[0]), dict[str, Any]()
    unfold(driver)
    for width in WIDTHS:
        resize(driver, width)
        wide = driver.execute_script("return document.scrollingElement.scrollWidth")
        faults[f"at {width}"] = [wide] if wide > width else []
        faults[f"targets at {width}"] = small_targets(driver)
    shorten(driver)
    driver.execute_script(axe)
    faults["light"] = violations(driver, AXE_RULES)
    colours(driver, "dark")
    faults["dark"] = violations(driver, AXE_COLOURS)
    assert {place: found for place, found in faults.items() if found} == {}


def shorten(driver: Any) -> None:
    """Leave the first entries of long lists: axe takes seconds for hundreds that one template sets alike."""
    driver.execute_script(
        "document.querySelectorAll('main ol, main ul, main tbody').forEach("
        "  list => [...list.children].slice(arguments[0]).forEach(entry => entry.remove()))",
        ENTRIES_KEPT,
    )


def small_targets(driver: Any) -> list[str]:
    """Return the links and controls that are smaller than a target may be."""
    found: list[str] = driver.execute_script(
        "return [...document.querySelectorAll('a, button, input, textarea, select, summary')].filter(e => {"
        "  const b = e.getBoundingClientRect();"
        "  return !e.matches(arguments[1]) && !e.classList.contains('skip') && b.width > 0"
        "    && (b.width < arguments[0] || b.height < arguments[0]);"
        "}).map(e => e.outerHTML.slice(0, 120))",
        SMALLEST_TARGET,
        INLINE,
    )
    return found


@pytest.mark.parametrize("query", ["/ask?{}", "/check?angle=22&finish=1+um&{}", "/diagnose?{}&symptom=chips,rolls"])
def test_an_answer_is_not_long_on_a_phone(show: Open, query: str) -> None:
    driver = show(query.format(QUESTION), 390)
    assert driver.execute_script("return document.scrollingElement.scrollHeight") < LONGEST_ON_A_PHONE


def test_the_plan_follows_the_figures_on_a_phone_and_the_pictures_on_a_desk(show: Open) -> None:
    top = "return document.querySelector(arguments[0]).getBoundingClientRect().top"
    pictures_show = "return document.querySelector('.pictures').checkVisibility()"
    driver = show(f"/ask?{QUESTION}", 390)
    places = [driver.execute_script(top, name) for name in (".figures", "#plan", "#answers", ".drawn")]
    assert places == sorted(places) and not driver.execute_script(pictures_show)
    resize(driver, 1280)
    assert driver.execute_script(top, ".drawn") < driver.execute_script(top, "#plan")
    assert driver.execute_script(pictures_show)


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


def printed_pages(driver: Any, paper: tuple[float, float]) -> int:
    """Return the number of pages on a paper (width, height in inches)."""
    size = {"paperWidth": paper[0], "paperHeight": paper[1], "preferCSSPageSize": False}
    data = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", size)["data"])
    return len(re.findall(rb"/Type /Page\b", data))


A4, A5 = (8.27, 11.69), (5.83, 8.27)


def test_printed_answer_leaves_closed_folds_out(show: Open) -> None:
    driver = show(f"/ask?{QUESTION}")
    closed = printed_pages(driver, A4)
    assert closed <= 3
    driver.execute_script("document.querySelector('#trace').open = true")
    assert printed_pages(driver, A4) > closed, "a fold that stands open is printed"
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    heights = driver.execute_script(
        "return ['header nav', '.drawn', 'footer .print-only', '.reason summary', '#trace ol']"
        ".map(s => document.querySelector(s).getBoundingClientRect().height)"
    )
    assert [h > 0 for h in heights] == [False, False, True, True, True]


def test_a_printed_card_takes_one_page_and_its_full_width(show: Open) -> None:
    driver = show(f"/card?{QUESTION}")
    assert (printed_pages(driver, A4), printed_pages(driver, A5)) == (1, 1)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    widths = driver.execute_script(
        "return ['.card', 'body'].map(s => document.querySelector(s).getBoundingClientRect().width)"
    )
    assert widths[0] == widths[1]
    assert printed_pages(show(f"/card?{FULL}"), A4) == 1


def test_pictures_keep_their_size_without_a_style_sheet(show: Open) -> None:
    driver = show(f"/ask?{QUESTION}")
    unfold(driver)
    driver.execute_script("document.querySelector('link[rel=stylesheet]').remove()")
    widths = driver.execute_script(
        "return [...document.querySelectorAll('svg')].map(s => s.getBoundingClientRect().width)"
    )
    assert widths and max(widths) <= 360
