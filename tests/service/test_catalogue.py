"""Sources, data tables and plugins as the API lists them."""

from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry

Client = TestClient[Litestar]


def test_one_id_of_a_source_means_one_source_in_all_our_families(registry: Registry) -> None:
    seen: dict[str, object] = {}
    for served in registry.served.values():
        for reference in served.calculator.references:
            assert seen.setdefault(reference.id, reference) == reference, (served.calculator.id, reference.id)


def test_every_source_is_listed_with_its_provenance_and_who_cites_it(client: Client, registry: Registry) -> None:
    listed = client.get("/v1/references?page_size=1000").json()["references"]
    cited = {r.id for s in registry.served.values() for r in s.calculator.references}
    assert cited <= {entry["reference"]["id"] for entry in listed}
    assert all(entry["meaning"] and entry["used_by"] for entry in listed)
    memory = [e for e in listed if e["reference"]["provenance"] == "memory"]
    assert memory
    assert all("from memory" in e["meaning"] for e in memory)


def test_every_table_is_served_with_its_citation(client: Client) -> None:
    tables = client.get("/v1/tables?page_size=1000").json()["tables"]
    assert len(tables) > 20
    for entry in tables:
        table = client.get(entry["href"]).json()
        assert table["rows"]
        assert table["reference"]["title"]
        assert len(table["digest"]) == 64
    assert client.get("/v1/tables/nothing.here").status_code == 404


def test_lists_come_in_pages(client: Client) -> None:
    first = client.get("/v1/calculators?page_size=5").json()
    seen = [c["id"] for c in first["calculators"]]
    token = first.get("next_page_token")
    while token:
        page = client.get(f"/v1/calculators?page_size=5&page_token={token}").json()
        seen += [c["id"] for c in page["calculators"]]
        token = page.get("next_page_token")
    assert seen == sorted(set(seen))
    assert len(seen) == len(client.get("/v1/calculators?page_size=1000").json()["calculators"])


def test_who_has_the_document_already_is_sent_none(client: Client) -> None:
    """RFC 9110, 13.1.2: a weak comparison, and `*` is any state."""
    read = client.get("/v1/calculators")
    tag = read.headers["etag"].removeprefix("W/")
    for known in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = client.get("/v1/calculators", headers={"if-none-match": known})
        assert (again.status_code, again.content) == (304, b""), known
    assert client.get("/v1/calculators", headers={"if-none-match": '"other"'}).content == read.content
