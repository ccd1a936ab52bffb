"""Links and forms of people, made by somebody who means no good: no fault, nothing kept that has no address, nothing lost."""

import json
import re
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import httpx
import pytest
from forms_of_pages import token_in
from litestar import Litestar
from litestar.testing import TestClient

Client = TestClient[Litestar]
HTML = {"accept": "text/html"}
BENCH = "/bench/electrical/feeder"
NEW, HERE = "/orders/new", "/v1/bookings/DEMO-COMFORT"


def sent(client: Client, address: str, page: str, **members: str) -> httpx.Response:
    form = {"form_token": token_in(page)} | members
    return client.post(address, data=form, headers=HTML, follow_redirects=False)


@pytest.mark.parametrize(
    "given",
    [
        *([], 5, "x", {"length": []}, {"length": {"value": None}}, {"length": {"value": [1]}}),
        {"length": {"value": True, "unit": []}},
        {"length": {"value": 10**400, "unit": "m"}},
    ],
)
def test_a_link_to_the_bench_may_hold_anything(booked: Client, given: Any) -> None:
    reply = booked.get(BENCH, params={"given": json.dumps(given)}, headers=HTML)
    assert reply.status_code == 422
    assert "Length" in reply.text, "the form is there"


def test_a_kind_that_is_no_word_is_none(booked: Client) -> None:
    given = json.dumps({"loads": [{"kind": []}]})
    assert booked.get("/bench/refrigeration/load", params={"given": given}, headers=HTML).status_code == 422


@pytest.mark.parametrize("text", ["1_000", "١٢", "1e999", "nan"])
def test_a_number_is_what_json_calls_one(booked: Client, text: str) -> None:
    page = booked.get(BENCH, headers=HTML).text
    reply = sent(booked, BENCH, page, **{"/length/value": text, "/length/unit": "m"})
    shown = booked.get(reply.headers["location"], headers=HTML)
    assert shown.status_code == 422
    assert f'value="{text}"' in shown.text, "what was put in is there to be put right"


@pytest.mark.parametrize("reference", ["a b", "a/b", "../x", "x\r\nSet-Cookie: a=b", "ü", "?x=1", "."])
def test_an_order_that_no_address_can_name_is_not_kept(booked: Client, reference: str) -> None:
    """It would hold machines, and nobody could cancel it."""
    before = booked.get("/v1/bookings").json()["bookings"]
    page = booked.get(f"{NEW}?example=1", headers=HTML).text
    fields = dict(re.findall(r'name="(/[^"]+)"[^>]* value="([^"]*)"', page))
    reply = sent(booked, NEW, page, **(fields | {"/reference": reference}))
    assert reply.status_code == 422
    assert "An order number is of letters" in reply.text
    assert booked.get("/v1/bookings").json()["bookings"] == before


def test_a_form_that_is_no_order_is_shown_again(booked: Client) -> None:
    page = booked.get(NEW, headers=HTML).text
    assert sent(booked, NEW, page, **{"": "[1]"}).status_code == 422


def test_of_two_who_answer_at_once_neither_is_overwritten(booked: Client) -> None:
    page = booked.get(f"{HERE}/answers", headers=HTML).text
    revision = re.findall(r'name="revision" value="(\d+)"', page)[0]
    answers = ({"/site/name": "North hall"}, {"/site/tap_pressure/value": "300", "/site/tap_pressure/unit": "kPa"})
    together = Barrier(len(answers))

    def answer(members: dict[str, str]) -> int:
        together.wait()
        return sent(booked, f"{HERE}/answers", page, revision=revision, **members).status_code

    with ThreadPoolExecutor(len(answers)) as threads:
        taken = list(threads.map(answer, answers))
    site = booked.get(HERE).json()["order"]["site"]
    there = [site["name"] == "North hall", "tap_pressure" in site]
    assert there == [status == 303 for status in taken]
    assert any(there)
