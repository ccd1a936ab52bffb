"""Every page in a real browser: wide and narrow, light and dark, by keyboard, printed, and used by clicks."""

import datetime
import json
import re
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from identity import IdentityProvider
from installed import install
from playwright.sync_api import Browser, Page, PdfMargins
from read_pages import pages_of
from running import RunningService, free_port
from startup_histories import CONFIGURATION, base

from coldwright.contract.people import quantity

GIVEN: dict[str, Any] = {
    "kind": "propylene_glycol",
    "lowest_temperature": {"value": -12, "unit": "degC"},
    "loop_volume": {"value": 1325, "unit": "L"},
}
SWEEP = "&vary=/lowest_temperature&from=-28&to=0&keep=/results/mass_fraction"
PAGES = {
    "yard": "/yard?from=2027-01-04",
    "bench": "/bench",
    "bench-form": "/bench/hydronic/loop",
    "bench-answer": f"/bench/hydronic/antifreeze?given={quote(json.dumps(GIVEN))}{SWEEP}",
    "plan-process": "/v1/bookings/DEMO-PROCESS",
    "plan-comfort": "/v1/bookings/DEMO-COMFORT",
    "crew": "/v1/bookings/DEMO-PROCESS/crew-sheet",
    "crew-es": "/v1/bookings/DEMO-PROCESS/crew-sheet?lang=es",
    "crew-machine": "/v1/bookings/DEMO-COMFORT/crew-sheet?machine=1",
    "answers": "/v1/bookings/DEMO-PROCESS/answers",
    "order": "/orders/new",
    "start": "/v1/startups/process-2?tz=America/Denver",
    "start-es": "/v1/startups/process-2?tz=America/Denver&lang=es",
    "record": "/v1/startups/process-2?tz=America/Denver&record=line_connection",
    "plant": "/v1/startups?booking=DEMO-PROCESS",
    "sign-in": "/sign-in",
    "api": "/openapi/v1.html",
}
LOOKS: tuple[tuple[int, Literal["light", "dark"]], ...] = (
    (390, "light"),
    (390, "dark"),
    (1200, "light"),
    (1200, "dark"),
)
MARGIN: PdfMargins = {"top": "10mm", "bottom": "10mm", "left": "10mm", "right": "10mm"}
LARGEST = 100_000
"""Bytes of a page."""
LONGEST_PLAN = 12_000
"""Pixels of a plan on a phone, folded."""


def opened(browser: Browser, width: int, scheme: Literal["light", "dark"]) -> tuple[Page, list[str]]:
    """An empty page, and what it will complain of: a script that failed, or something that the policy did not let it do."""
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    wrong: list[str] = []
    page.on("console", lambda message: wrong.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    return page, wrong


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_every_page_fits_and_anybody_can_read_it(
    browser: Browser, site: str, pictures: Path | None, width: int, scheme: Literal["light", "dark"]
) -> None:
    page, wrong = opened(browser, width, scheme)
    for name, path in PAGES.items():
        reply = page.goto(site + path)
        assert reply is not None
        assert reply.status == 200, name
        assert len(reply.body()) < LARGEST, name
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        if name.startswith("plan") and width < 400:
            assert page.evaluate("document.documentElement.scrollHeight") < LONGEST_PLAN, name
        if pictures is not None:
            page.screenshot(path=pictures / f"{name}-{width}-{scheme}.png", full_page=True)
        found = Axe().run(page).response["violations"]
        assert found == [], (name, [(v["id"], [n["html"][:200] for n in v["nodes"][:3]]) for v in found])
        assert wrong == [], name
    page.close()


def test_an_engineers_plan_fits_a_phone_too(browser: Browser, site: str) -> None:
    """With every table in sight, whose words are wider than their columns: only what can be moved goes beyond the edge."""
    page, wrong = opened(browser, 390, "light")
    for order in ("PROCESS", "INDOOR"):
        page.goto(f"{site}/v1/bookings/DEMO-{order}?details=all")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, order
    assert wrong == []
    page.close()


def test_the_bench_is_worked_by_keyboard_alone(browser: Browser, site: str) -> None:
    page, wrong = opened(browser, 1200, "light")
    page.goto(f"{site}/bench/hydronic/antifreeze?example=0")
    seen: list[str] = []
    for _ in range(40):
        page.keyboard.press("Tab")
        at = page.evaluate("(document.activeElement.name || document.activeElement.textContent.trim())")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", f"one cannot see that {at} has the focus"
        seen.append(at)
        if at == "/kind":
            page.keyboard.press("p")
        elif at in ("/lowest_temperature/value", "/loop_volume/value"):
            page.keyboard.type("-12" if "temperature" in at else "1325")
        elif at == "Answer" and "/loop_volume/unit" in seen:
            break
    page.keyboard.press("Enter")
    page.wait_for_url("**given=**")
    assert "453 L" in page.inner_text("#answer")
    page.reload()
    assert "453 L" in page.inner_text("#answer"), "the address restores input and answer"
    assert wrong == []
    page.close()


def test_what_is_printed_is_as_short_as_it_should_be(browser: Browser, site: str) -> None:
    page, _ = opened(browser, 1200, "light")
    for path, paper, most in (
        ("/v1/bookings/DEMO-PROCESS", "A4", 8),
        ("/v1/bookings/DEMO-COMFORT", "Letter", 8),
        ("/v1/bookings/DEMO-INDOOR", "A4", 8),
        ("/v1/bookings/DEMO-PROCESS/crew-sheet", "A4", 2),
        ("/v1/bookings/DEMO-COMFORT/crew-sheet?paper=letter", "Letter", 2),
        ("/v1/startups/process-2?tz=UTC", "A4", 3),
    ):
        page.goto(site + path)
        assert 1 <= pages_of(page.pdf(format=paper, margin=MARGIN)) <= most, path
        printed = httpx.get(site + path, headers={"accept": "application/pdf"}, timeout=60)
        assert 1 <= pages_of(printed.content) <= most, path
    page.close()


def test_an_order_that_goes_is_booked_and_its_questions_answered_by_clicks(browser: Browser, site: str) -> None:
    """From an example, with the air and the drop of a load that the demo fleet fits; what is left open is the ground."""
    page, wrong = opened(browser, 1200, "light")
    page.goto(f"{site}/yard")
    page.get_by_role("link", name="New order").click()
    page.locator("main a").first.click()
    page.fill('[name="/reference"]', "CLICKED-1")
    page.fill('[name="/site/design_ambient_temperature/value"]', "68")
    page.fill('[name="/load_side/rated_pressure_drop/value"]', "110")
    page.get_by_role("button", name="Plan it").click()
    assert page.locator(".wrong").count() == 0, page.locator(".wrong").all_inner_texts()
    page.wait_for_url("**/v1/bookings/CLICKED-1", timeout=60_000)
    assert "revision 1" in page.inner_text("h1")
    assert page.inner_text(".verdict") == "OK subject to 1 check"
    page.get_by_role("link", name="Answer these questions").click()
    first = page.locator('main [name$="/value"]').first
    first.fill("not a number")
    page.get_by_role("button", name="Send the answers").click()
    assert page.locator(".wrong").count() > 0, "what is wrong is said, and nothing is lost"
    assert page.locator('main [name$="/value"]').first.input_value() == "not a number"
    page.locator('main [name$="/value"]').first.fill("")
    soil = page.locator('[name="/site/ground/soil_class"]')
    if not soil.is_visible():
        page.locator("summary", has_text="Ground").first.click()
    soil.select_option("gravel")
    page.check('[name="/site/ground/services_known"][value="true"]')
    page.get_by_role("button", name="Send the answers").click()
    assert page.locator(".wrong").count() == 0, page.locator(".wrong").all_inner_texts()
    page.wait_for_url("**/v1/bookings/CLICKED-1", timeout=60_000)
    assert "revision 2" in page.inner_text("h1")
    assert page.inner_text(".verdict").startswith("GOES"), page.inner_text("header")
    page.goto(f"{site}/v1/bookings/CLICKED-1/crew-sheet")
    assert page.inner_text(".verdict").startswith("Set point 6.7 °C"), "released"
    assert [w for w in wrong if "422" not in w] == []
    page.close()


FOCUSABLE = """() => {
  const all = [...document.querySelectorAll('a[href],button,input:not([type=hidden]),select,textarea,summary,[tabindex="0"]')]
  const seen = all.filter(e => e.checkVisibility({checkVisibilityCSS: true, contentVisibilityAuto: true}))
  const radio = e => e.type === 'radio' && seen.some(o => o.name === e.name && o.checked) && !e.checked
  window.stops = seen.filter(e => !radio(e))
  return window.stops.length
}"""
AT = """() => [window.stops.indexOf(document.activeElement), getComputedStyle(document.activeElement).outlineStyle,
  getComputedStyle(document.activeElement).outlineWidth, document.activeElement.outerHTML.slice(0, 120)]"""
MOST_STOPS = 50
"""Of one page that are gone through, from its top: one rule of the style sheet is for all of them."""


def test_every_page_is_gone_through_by_keyboard_alone(browser: Browser, site: str) -> None:
    """Each thing that can be used is reached by the tabulator in the order of the page, and shows that it has the focus."""
    page, _ = opened(browser, 390, "light")
    for name, path in PAGES.items():
        page.goto(site + path)
        page.evaluate(
            "document.body.tabIndex = -1; document.body.focus()"
        )  # the top, also where a field asks for the focus
        count = page.evaluate(FOCUSABLE)
        places: list[int] = []
        assert count > 0, name
        for _ in range(min(count, MOST_STOPS)):
            page.keyboard.press("Tab")
            at, style, width, markup = page.evaluate(AT)
            assert at >= 0, (name, markup)
            assert style != "none", (name, markup)
            assert width not in ("0px", ""), (name, markup)
            if not places or places[-1] != at:  # a day has three places of its own
                places.append(at)
        assert len(places) == len(set(places)), (name, places)
        assert places == sorted(places), (name, places)
    page.close()


def test_a_third_partys_calculator_is_tried_on_the_bench(browser: Browser, tmp_path: Path) -> None:
    """The example of `plugins/example`, of which nothing here knows a field: form, answer, sweep, link, copies."""
    sources = Path(__file__).parents[2] / "plugins" / "example"
    point = {"evaporative": "coldwright_evaporative:plugin"}
    environment = install(tmp_path / "site", "coldwright-evaporative", sources, point)
    service = RunningService(tmp_path, environment=environment).wait_ready(120)
    page, wrong = opened(browser, 390, "light")
    try:
        page.goto(f"{service.url}/bench")
        page.fill("#find", "pre-cooling")
        page.locator("a[href='/bench/evaporative/precooling']").click()
        assert "Evaporative pre-cooling" in page.inner_text("h1")
        page.locator("a[href*='example=']").first.click()
        page.get_by_role("button", name="Answer", exact=True).first.click()
        page.wait_for_url("**given=**", timeout=60_000)
        answer = page.inner_text("#answer")
        assert "°C" in answer
        body = httpx.get(f"{service.url}/v1/calculators/evaporative/precooling", timeout=60).json()
        example = body["examples"][0]["given"]
        reply = httpx.post(f"{service.url}/v1/calculators/evaporative/precooling", json=example, timeout=60).json()
        assert quantity(reply["results"]["entering_air"]) in answer
        assert "curl" in page.content()
        assert Axe().run(page).response["violations"] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.reload()
        assert page.inner_text("#answer") == answer, "the address restores input and answer"
        assert wrong == []
    finally:
        page.close()
        service.stop()


def test_somebody_signs_in_at_a_provider_on_another_site_and_is_signed_in(browser: Browser, tmp_path: Path) -> None:
    """In earnest: the session's cookie is strict, and the provider of another site leads back to us."""
    provider, port = IdentityProvider("localhost"), free_port()
    settings = provider.settings(f"http://127.0.0.1:{port}") | {"require_keys": "1", "engine": "inline"}
    service = RunningService(tmp_path, settings, port=port).wait_ready(120)
    page, wrong = opened(browser, 390, "light")
    try:
        page.goto(f"{service.url}/yard?from=2027-01-04")
        found = Axe().run(page).response["violations"]
        assert found == [], [v["id"] for v in found]
        page.get_by_role("link", name="Sign in with your company's account").click()
        page.wait_for_url("**/yard?from=2027-01-04", timeout=30_000)
        assert page.inner_text("h1").startswith("Yard")
        page.reload()
        assert page.inner_text("h1").startswith("Yard")
        page.get_by_role("button", name="Sign out").click()
        page.wait_for_url("**/sign-in")
        page.goto(f"{service.url}/yard")
        assert page.inner_text("h1") == "Sign in"
        assert wrong == []
    finally:
        page.close()
        service.stop()
        provider.stop()


def test_a_start_is_driven_from_nothing_to_ready_by_clicks(browser: Browser, site: str) -> None:
    """Each record of the published base set, moved to now, through the form that the page draws for its kind."""
    opened_start = {"configuration": CONFIGURATION, "machine": "clicked"}
    httpx.put(f"{site}/v1/startups/clicked", json=opened_start, timeout=60).raise_for_status()
    ready = datetime.datetime.fromisoformat("2026-05-04T09:06:00+00:00")
    moved = datetime.datetime.now(datetime.UTC) - ready
    page, wrong = opened(browser, 390, "light")
    page.goto(f"{site}/v1/startups/clicked?tz=UTC")
    assert page.inner_text(".verdict").startswith("Blocked")
    for number, record in enumerate(base(), 1):
        page.get_by_text("Record something else").click()
        page.locator(f"a[href*='record={record['kind']}&'], a[href$='record={record['kind']}']").first.click()
        for name, value in record["data"].items():
            put_in(page, f"0/data/{name}", value)
        put_in(page, "by", record.get("by", "Ann Hill"))
        page.get_by_text("Seen earlier than now?").click()
        at = datetime.datetime.fromisoformat(record["at"]) + moved
        page.fill('[name="at"]', at.strftime("%Y-%m-%dT%H:%M:%S"))
        page.get_by_role("button", name="Record it").click()
        page.wait_for_function(RECORDED, arg=number, timeout=30_000)
    assert page.inner_text(".verdict").startswith("Ready"), page.inner_text("main")[:2000]
    assert wrong == []
    page.close()


RECORDED = """n => document.querySelector("p.wrong:not([hidden])")?.innerText
  ? (() => { throw new Error(document.querySelector("p.wrong:not([hidden])").innerText) })()
  : document.querySelector("header").innerText.includes(`records: ${n}.`)"""
"""The page says that so many are on record; whatever went wrong fails the test with its own words."""


def test_a_network_that_fails_loses_and_doubles_nothing(browser: Browser, site: str) -> None:
    """No network, an answer that got lost, the service started anew under the form, and the way back: each with a clear word."""
    httpx.put(f"{site}/v1/startups/far", json={"configuration": CONFIGURATION, "machine": "far"}).raise_for_status()
    page, _ = opened(browser, 390, "light")

    def record(kind: str) -> None:
        page.goto(f"{site}/v1/startups/far?tz=UTC&record={kind}")
        page.fill("#by", "Ann Hill")

    def press() -> None:
        page.get_by_role("button", name="Record it").click()

    def on_record() -> list[str]:
        found = httpx.get(f"{site}/v1/startups/far/observations").json()["observations"]
        return [kept["observation"]["kind"] for kept in found]

    record("unit_level")
    page.check('input[name="0/data/ok"][value="true"]')
    page.context.set_offline(True)
    press()
    page.wait_for_selector('[data-unsent="failed"]:not([hidden])', timeout=30_000)
    assert page.input_value("#by") == "Ann Hill"
    assert on_record() == []
    page.context.set_offline(False)
    press()
    page.wait_for_function(RECORDED, arg=1, timeout=30_000)
    record("alarm_check")
    page.check('input[name="0/data/none_shown"][value="true"]')
    page.route(
        "**/form?*", lambda route: (route.fetch(max_redirects=0), route.abort())[0]
    )  # taken, and the answer is lost
    press()
    page.wait_for_selector('[data-unsent="failed"]:not([hidden])', timeout=30_000)
    assert on_record() == ["unit_level", "alarm_check"]
    page.unroute("**/form?*")
    press()
    page.wait_for_function(RECORDED, arg=2, timeout=30_000)
    assert on_record() == ["unit_level", "alarm_check"], "sent twice, it counts once"
    record("lock_check")
    page.check('input[name="0/data/none_seen"][value="true"]')
    page.evaluate("document.querySelector('form.record [name=form_token]').value = '0'.repeat(64)")
    press()
    page.wait_for_function(RECORDED, arg=3, timeout=30_000)
    page.go_back()
    page.wait_for_selector('input[name="0/data/none_seen"]', timeout=30_000)
    assert on_record() == ["unit_level", "alarm_check", "lock_check"]
    page.close()


def put_in(page: Page, name: str, value: Any) -> None:
    """A value into the field of that name, as somebody would."""
    if isinstance(value, dict):
        page.fill(f'[name="{name}/value"]', str(value["value"]))
        units = page.locator(f'select[name="{name}/unit"]')
        if units.count():
            units.select_option(value["unit"])
    elif isinstance(value, bool):
        page.check(f'input[name="{name}"][value="{str(value).lower()}"]')
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            put_in(page, f"{name}/{place}", item)
    elif page.locator(f'select[name="{name}"]').count():
        page.select_option(f'select[name="{name}"]', str(value))
    elif page.locator(f'[name="{name}"]').count():
        page.fill(f'[name="{name}"]', str(value))


def test_a_page_is_live_and_leaves_alone_what_somebody_writes(browser: Browser, site: str) -> None:
    httpx.put(f"{site}/v1/startups/live", json={"configuration": CONFIGURATION, "machine": "live"}).raise_for_status()
    page, _ = opened(browser, 390, "light")
    page.goto(f"{site}/v1/startups/live?tz=UTC")
    before = page.inner_text(".verdict")
    seen = {
        "id": "l1",
        "kind": "unit_level",
        "at": datetime.datetime.now(datetime.UTC).isoformat(),
        "data": {"ok": True},
    }
    httpx.post(f"{site}/v1/startups/live/observations", json={"observations": [seen]}).raise_for_status()
    page.wait_for_function("text => document.querySelector('.verdict').innerText !== text", arg=before, timeout=15_000)
    count = int(re.findall(r"\d+", page.inner_text(".verdict"))[0])
    assert count == int(re.findall(r"\d+", before)[0]) - 1
    page.fill("#by", "Ann")
    seen |= {"id": "l2", "kind": "strainer", "data": {"blown_down": True}}
    httpx.post(f"{site}/v1/startups/live/observations", json={"observations": [seen]}).raise_for_status()
    page.wait_for_selector("#changed:not([hidden])", timeout=15_000)
    assert page.input_value("#by") == "Ann"
    page.close()


def test_an_office_reads_the_times_of_its_machines_on_its_own_clock(browser: Browser, site: str) -> None:
    """Phoenix keeps one time all the year, seven hours behind UTC; a start says its own in UTC where no zone is named."""
    configuration = CONFIGURATION | {"warm_up_duration": {"value": 12, "unit": "h"}}
    httpx.put(f"{site}/v1/startups/later", json={"configuration": configuration, "machine": "later"}).raise_for_status()
    moved = datetime.datetime.now(datetime.UTC) - datetime.datetime.fromisoformat("2026-05-04T09:06:00+00:00")
    history = [o | {"at": (datetime.datetime.fromisoformat(o["at"]) + moved).isoformat()} for o in base()]
    httpx.post(f"{site}/v1/startups/later/observations", json={"observations": history}, timeout=60).raise_for_status()
    page = browser.new_page(timezone_id="America/Phoenix")
    page.goto(f"{site}/yard")
    text = page.locator(".card", has_text="Wait: later").inner_text()
    until = re.search(r"Wait until .*?(\d\d):(\d\d) MST", text)
    assert until, text
    start = httpx.get(f"{site}/v1/startups/later", timeout=60).json()["verdict"]["results"]["earliest_start"]
    at = datetime.datetime.fromisoformat(start) - datetime.timedelta(hours=7)
    assert (until[1], until[2]) == (f"{at:%H}", f"{at:%M}")
    page.close()
