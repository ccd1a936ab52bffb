"""Worksheets: items that take their inputs from one another's results. All data are invented."""

import random
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.exploration import worksheet
from coldwright.service.exploration.cycles import cycles
from coldwright_electrical.explorations import WORKSHEET_EXAMPLE

Client = TestClient[Litestar]
Item = dict[str, Any]
METRE = {"value": 1, "unit": "m"}


def doubled(id_: str, length: Any, *more: Any) -> Item:
    return {"id": id_, "calculator": "invented.doubled", "given": {"length": length, "more": list(more)}}


def of(id_: str, pointer: str = "/results/doubled") -> dict[str, str]:
    return {"from": id_, "pointer": pointer}


def sent(client: Client, items: list[Item], query: str = "") -> list[dict[str, Any]]:
    reply = client.post(f"/v1/worksheets{query}", json={"items": items})
    assert reply.status_code == 200, reply.text
    replies: list[dict[str, Any]] = reply.json()["items"]
    assert [r["id"] for r in replies] == [i["id"] for i in items]
    assert all(("answer" in r) == (r["status"] == 200) == ("problem" not in r) for r in replies)
    return replies


def value(reply: dict[str, Any]) -> float:
    number: float = reply["answer"]["results"]["doubled"]["value"]
    return number


def only_error(reply: dict[str, Any]) -> dict[str, Any]:
    assert reply["status"] == reply["problem"]["status"] == 422
    (error,) = reply["problem"]["errors"]
    assert error["pointer"] in reply["problem"]["detail"]
    told: dict[str, Any] = error
    return told


def place(body: Any, pointer: str) -> Any:
    """What stands in the body at the pointer of an error."""
    for token in pointer.removeprefix("#/").split("/"):
        body = body[int(token)] if isinstance(body, list) else body[token]
    return body


def test_the_published_example_runs(client: Client) -> None:
    service, cable = sent(client, list(WORKSHEET_EXAMPLE.given["items"]))
    taken = service["answer"]["results"]["feeder"]["minimum_circuit_ampacity"]
    assert cable["answer"]["given"]["minimum_ampacity"] == taken


@pytest.mark.parametrize("seed", range(4))
def test_references_may_stand_in_any_order(invented: Client, seed: int) -> None:
    """A chain of five and a diamond on top of it: 1, 2, 4, 8, 16 m doubled, then 2 x 32 + 16 + 8 m."""
    chain = [doubled("c0", METRE)] + [doubled(f"c{i}", of(f"c{i - 1}")) for i in range(1, 5)]
    items = [*chain, doubled("top", of("c4"), of("c3"), of("c2"))]
    random.Random(seed).shuffle(items)
    values = {r["id"]: value(r) for r in sent(invented, items)}
    assert values == {"c0": 2, "c1": 4, "c2": 8, "c3": 16, "c4": 32, "top": 88}


def test_a_reference_may_stand_for_a_part_or_for_the_whole_input(invented: Client) -> None:
    number = {"value": of("a", "/results/doubled/value"), "unit": "ft"}
    whole = {"id": "same", "calculator": "invented.doubled", "given": of("a", "/given")}
    a, b, same = sent(invented, [doubled("a", METRE), doubled("b", number), whole])
    assert b["answer"]["given"]["length"] == {"value": 2, "unit": "ft"}
    assert same["answer"] == a["answer"]


def test_what_has_no_room_in_the_answer_is_refused_and_the_rest_answered(
    invented: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    items = [doubled(f"i{n}", METRE) for n in range(20)]
    one = len(msgspec.json.encode(sent(invented, items[:1])[0]["answer"]))
    monkeypatch.setattr(worksheet, "MOST_ANSWERED", 5 * one + one // 2)
    replies = sent(invented, items)
    assert [r["status"] for r in replies[:5]] == [200] * 5
    assert {r["status"] for r in replies[5:]} == {413}
    assert replies[5]["problem"]["type"] == "/problems/too-large"


def test_items_on_a_cycle_are_told_and_the_others_answered(invented: Client) -> None:
    items = [
        doubled("a", of("b")),
        doubled("b", METRE, of("c"), of("free")),
        doubled("c", of("b"), of("a")),
        doubled("Selfish", of("Selfish")),
        doubled("after", of("a")),
        doubled("free", METRE),
        doubled("also-free", of("free")),
    ]
    replies = {r["id"]: r for r in sent(invented, items)}
    for id_ in ("a", "b", "c"):
        errors = replies[id_]["problem"]["errors"]
        assert {e["code"] for e in errors} == {"cycle"}
        assert all(e["detail"] == "These items wait for each other: a, b, c." for e in errors)
        assert all(place({"items": items}, e["pointer"])["from"] in ("a", "b", "c") for e in errors)
    assert only_error(replies["Selfish"])["detail"] == "The item waits for itself."
    assert only_error(replies["after"])["detail"] == "The item 'a' has no answer (status 422)."
    assert (value(replies["free"]), value(replies["also-free"])) == (2, 4)


@pytest.mark.parametrize(
    ("reference", "detail"),
    [
        (of("Nobody"), "There is no item 'Nobody'."),
        (of("a", "/results/Doubled"), "There is no /results/Doubled in the answer of the item 'a'."),
        (of("a", "/findings/0"), "There is no /findings/0 in the answer of the item 'a'."),
        (
            of("a", "results"),
            "'results' does not begin with `/`, so it is no JSON pointer in the answer of the item 'a'.",
        ),
        (of("bad"), "The item 'bad' has no answer (status 422)."),
        (of("none"), "The item 'none' has no answer (status 404)."),
    ],
)
def test_a_reference_that_leads_nowhere_is_told_where_it_stands(
    invented: Client, reference: dict[str, str], detail: str
) -> None:
    items = [
        doubled("a", METRE),
        doubled("bad", {"value": -1, "unit": "m"}),
        {"id": "none", "calculator": "invented.nothing", "given": {}},
        doubled("asks", METRE, reference),
    ]
    error = only_error(sent(invented, items)[3])
    assert (error["code"], error["detail"]) == ("no_such_result", detail)
    assert error["pointer"] == "#/items/3/given/more/0"


def test_a_result_that_does_not_fit_is_told_at_its_reference(invented: Client) -> None:
    wave = {"id": "wave", "calculator": "invented.wave", "given": {"x": 1}}
    items = [wave, doubled("a", METRE), doubled("wrong", of("wave", "/calculator")), doubled("x", METRE)]
    items[3] = {"id": "x", "calculator": "invented.wave", "given": {"x": of("a")}}
    replies = sent(invented, items)
    assert {e["pointer"] for e in replies[2]["problem"]["errors"]} == {"#/items/2/given/length"}
    assert "It came from the item 'wave', `/calculator`." in replies[2]["problem"]["errors"][0]["detail"]
    assert only_error(replies[3])["pointer"] == "#/items/3/given/x"


def test_a_wrong_unit_through_a_reference_is_told_at_the_reference(client: Client) -> None:
    service, cable = (dict(i) for i in WORKSHEET_EXAMPLE.given["items"])
    cable["given"] = cable["given"] | {"length": of("supply", "/results/feeder/minimum_circuit_ampacity")}
    error = only_error(sent(client, [service, cable])[1])
    assert error["pointer"] == "#/items/1/given/length"
    assert "m" in error["allowed"]["one_of"]
    assert "(`/unit` of it)" in error["detail"]


def test_pointers_of_errors_lead_into_the_body_that_was_sent(invented: Client) -> None:
    items = [doubled("a", {"value": 101, "unit": "m"}, METRE, {"value": "x", "unit": "m"}), doubled("b", METRE)]
    items[1]["given"]["what/is~this"] = 1
    a, b = sent(invented, items)
    assert {e["pointer"] for e in a["problem"]["errors"]} == {"#/items/0/given/length", "#/items/0/given/more/1/value"}
    assert only_error(b)["pointer"] == "#/items/1/given/what~1is~0this"


def test_one_that_breaks_spoils_no_other(invented: Client) -> None:
    modes = ("wave", "defect", "surprise")
    items = [{"id": m, "calculator": "invented.wave", "given": {"x": 1, "mode": m}} for m in modes]
    wave, defect, surprise = sent(invented, items)
    assert wave["status"] == 200
    assert (defect["status"], defect["problem"]["type"]) == (500, "/problems/calculator-defect")
    assert (surprise["status"], surprise["problem"]["type"]) == (500, "/problems/internal-error")


def test_an_unknown_calculator_is_its_own_items_problem(invented: Client) -> None:
    there, pinned, missing = sent(
        invented,
        [
            doubled("there", METRE),
            doubled("pinned", METRE) | {"calculator": "invented.wave@1", "given": {"x": 0}},
            doubled("missing", METRE) | {"calculator": "invented.doubled@7"},
        ],
    )
    assert (there["status"], pinned["status"], missing["status"]) == (200, 200, 404)
    assert "invented.doubled@7" in missing["problem"]["detail"]


def test_units_are_those_that_were_asked_for(invented: Client) -> None:
    """1 m doubled is 2 m, 6.5617 ft; taken over by reference in feet, it is the same length."""
    one, two = sent(invented, [doubled("one", METRE), doubled("two", of("one"))], "?units=us")
    assert one["answer"]["results"]["doubled"] == {"value": pytest.approx(2 / 0.3048), "unit": "ft"}
    assert two["answer"]["results"]["doubled"] == {"value": pytest.approx(4 / 0.3048), "unit": "ft"}


def test_repeated_ids_and_too_many_items_are_refused(invented: Client) -> None:
    repeated = invented.post("/v1/worksheets", json={"items": [doubled("a", METRE)] * 3})
    assert repeated.status_code == 422
    assert [e["pointer"] for e in repeated.json()["errors"]] == ["#/items/1/id", "#/items/2/id"]
    many = [doubled(str(n), METRE) for n in range(1001)]
    refused = invented.post("/v1/worksheets", json={"items": many})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "#/items"
    assert invented.post("/v1/worksheets", json={"items": []}).status_code == 422
    assert len(sent(invented, many[:1000])) == 1000


EXAMPLES = sorted(
    (s.calculator.id, e.name, dict(e.given))
    for s in Registry().served.values()
    if s.calculator.family in ("electrical", "site")
    for e in s.calculator.examples
)


@given(
    st.lists(st.tuples(st.sampled_from(EXAMPLES), st.sampled_from([None, "unknown", 7])), min_size=1, max_size=6),
    st.sampled_from(["", "?units=us"]),
)
@settings(max_examples=25)
def test_independent_items_are_answered_as_if_asked_alone(
    client: Client, picks: list[tuple[tuple[str, str, dict[str, Any]], Any]], query: str
) -> None:
    items: list[Item] = []
    for number, ((calculator, _, example), spoil) in enumerate(picks):
        body = example if spoil is None else {**example, next(iter(example)): spoil}
        items.append({"id": str(number), "calculator": calculator, "given": body})
    for number, reply in enumerate(sent(client, items, query)):
        address = f"/v1/calculators/{items[number]['calculator'].replace('.', '/')}{query}"
        alone = client.post(address, content=msgspec.json.encode(items[number]["given"]), headers=JSON)
        assert reply["status"] == alone.status_code
        if alone.status_code == 200:
            assert reply["answer"] == alone.json()
        else:
            prefix = f"#/items/{number}/given"
            told = [{**e, "pointer": e["pointer"].replace(prefix, "#", 1)} for e in reply["problem"]["errors"]]
            assert told == alone.json()["errors"]


JSON = {"content-type": "application/json"}


@given(st.dictionaries(st.sampled_from("abcdef"), st.lists(st.sampled_from("abcdef"), max_size=3, unique=True)))
def test_cycles_are_those_items_that_reach_themselves(waits_for: dict[str, list[str]]) -> None:
    """Against plain search from every item: an independent way to say who is on a cycle with whom."""
    graph = {item: [o for o in others if o in waits_for] for item, others in waits_for.items()}

    def reached(item: str) -> set[str]:
        seen: set[str] = set()
        ahead = list(graph[item])
        while ahead:
            here = ahead.pop()
            if here not in seen:
                seen.add(here)
                ahead += graph[here]
        return seen

    expected = {
        frozenset(o for o in graph if o in reached(item) and item in reached(o))
        for item in graph
        if item in reached(item)
    }
    found = cycles(graph)
    assert {frozenset(c) for c in found} == expected
    assert sum(map(len, found)) == len({i for c in found for i in c})
