"""Nobody gets in who was not let in; whoever is in sees only what was allowed."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient
from visitors import HOME, OURS, PORT, Visitor  # type: ignore[import-not-found]

READING = ["/api/start", "/tiles/00000000/picture/x/0/0/0.jpg", "/static/index.html", "/"]


@pytest.mark.parametrize("path", READING)
@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1:1", ""])
def test_another_host_is_refused_even_for_reading(visitor: Visitor, path: str, host: str) -> None:
    answer = visitor.client.get(path, headers={"Host": host})
    assert answer.status_code == 421
    assert answer.json()["error"]["code"] == "wrong-host"


@pytest.mark.parametrize("path", READING)
@pytest.mark.parametrize("origin", ["http://evil.example", "null", f"http://127.0.0.1:{PORT + 1}"])
def test_another_origin_is_refused_even_for_reading(
    visitor: Visitor, path: str, origin: str
) -> None:
    answer = visitor.client.get(path, headers={"Origin": origin})
    assert answer.status_code == 403


def test_a_request_begun_by_another_site_is_refused(visitor: Visitor) -> None:
    answer = visitor.client.get("/api/start", headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403


def test_changing_needs_an_origin_or_our_header(visitor: Visitor) -> None:
    assert visitor.client.post("/api/open", json={"path": "x"}).status_code == 403
    own = visitor.client.post("/api/open", json={"path": "x"}, headers={"Origin": HOME})
    assert own.json()["error"]["code"] == "not-allowed"


def test_without_the_cookie_nothing_is_shown(visitor: Visitor) -> None:
    stranger = TestClient(visitor.app.asgi, base_url=HOME, follow_redirects=False)
    for path in READING:
        assert stranger.get(path).status_code == 401
    assert stranger.post("/api/open", json={"path": "x"}, headers=OURS).status_code == 401


def test_a_key_works_once(visitor: Visitor) -> None:
    key = visitor.keys.fresh()
    first = TestClient(visitor.app.asgi, base_url=HOME, follow_redirects=False)
    second = TestClient(visitor.app.asgi, base_url=HOME, follow_redirects=False)

    answer = first.get(f"/?key={key}")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert first.get("/api/start").status_code == 200
    assert second.get(f"/?key={key}").status_code == 401
    assert second.get("/api/start").status_code == 401


def test_a_made_up_key_or_cookie_is_refused(visitor: Visitor) -> None:
    stranger = TestClient(visitor.app.asgi, base_url=HOME, follow_redirects=False)
    assert stranger.get("/?key=" + "A" * 32).status_code == 401
    headers = {"Cookie": f"firstsheet-{PORT}=guess"}
    assert stranger.get("/api/start", headers=headers).status_code == 401


def test_every_answer_forbids_what_comes_from_outside(visitor: Visitor) -> None:
    for path in ("/api/start", "/nothing-here", "/colour-test.png"):
        headers = visitor.client.get(path).headers
        assert "default-src 'self'" in headers["content-security-policy"]
        assert "http" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


def test_only_tiles_named_by_digest_are_kept(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    view = visitor.settled(draft)
    tile = visitor.client.get(view["tiles"]["picture"]["url"].format(z=0, x=0, y=0))
    assert "immutable" in tile.headers["cache-control"]
    wrong = visitor.client.get(f"/tiles/{draft}/picture/0123456789abcdef0123/1/0/0.jpg")
    assert wrong.status_code == 404
    assert wrong.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "typed",
    [
        "/etc/passwd",
        "../outside.tif",
        "ferry stairs.tif/../../outside.tif",
        "no such file.tif",
        "",
        " ",
        "ferry\x00stairs.tif",
        "~/outside.tif",
        "file:///etc/passwd",
    ],
)
def test_paths_outside_are_refused(visitor: Visitor, harbour: Path, typed: str) -> None:
    (harbour.parent / "outside.tif").write_bytes((harbour / "ferry stairs.tif").read_bytes())
    error = visitor.post("/api/open", {"path": typed}, status=403)["error"]
    assert error["code"] == "not-allowed"
    assert str(harbour) in error["choice"]
    assert "uploads" not in error["choice"]  # a folder of the program's own says nothing to anyone
    assert all(error[part] for part in ("found", "consequence", "choice"))


def test_a_link_that_leads_outside_is_refused_and_not_listed(
    visitor: Visitor, harbour: Path
) -> None:
    outside = harbour.parent / "outside.tif"
    outside.write_bytes((harbour / "ferry stairs.tif").read_bytes())
    (harbour / "link.tif").symlink_to(outside)
    (harbour / "folder").symlink_to(harbour.parent)

    visitor.post("/api/open", {"path": "link.tif"}, status=403)
    visitor.post("/api/open", {"path": "folder/outside.tif"}, status=403)
    assert [one["name"] for one in visitor.get("/api/paths?q=")["entries"]] != []
    names = [one["name"] for one in visitor.get(f"/api/paths?q={harbour}/")["entries"]]
    assert names == ["ferry stairs.tif"]


def test_a_change_cannot_lead_outside(visitor: Visitor, harbour: Path) -> None:
    from firstsheet.cms.build import space_profile

    outside = harbour.parent / "outside.tif"
    outside.write_bytes((harbour / "ferry stairs.tif").read_bytes())
    (harbour.parent / "outside.icc").write_bytes(space_profile("a98-rgb"))
    (harbour / "inside.icc").write_bytes(space_profile("a98-rgb"))
    draft = visitor.open("ferry stairs.tif")
    before = visitor.client.get(f"/api/draft/{draft}/ticket.toml").text
    for key, value in (
        ("picture", str(outside)),
        ("picture", "../outside.tif"),
        ("colour.read-as", str(harbour.parent / "outside.icc")),
        ("colour.read-as", "../outside.ICC"),
    ):
        view = visitor.change(draft, **{key.replace(".", "__"): value})
        assert view["slips"][key]["code"] == "not-allowed"
        thumb = visitor.client.get(f"/api/draft/{draft}/thumb", params={"key": key, "value": value})
        assert thumb.status_code == 403
    assert visitor.client.get(f"/api/draft/{draft}/ticket.toml").text == before
    assert visitor.change(draft, **{"colour__read-as": "display-p3"})["slips"] == {}
    inside = {"key": "colour.read-as", "value": "inside.icc"}
    assert visitor.client.get(f"/api/draft/{draft}/thumb", params=inside).status_code == 200


def test_a_ticket_cannot_name_a_profile_outside(visitor: Visitor, harbour: Path) -> None:
    lines = 'picture = "ferry stairs.tif"\nstock = "chalk-matte"\n[colour]\nread-as = '
    (harbour / "far.toml").write_text(f'{lines}"{harbour.parent / "outside.icc"}"\n')
    visitor.post("/api/open", {"path": "far.toml"}, status=403)
    (harbour / "near.toml").write_text(f'{lines}"display-p3"\n')
    visitor.post("/api/open", {"path": "near.toml"})


def test_a_ticket_cannot_lead_outside(visitor: Visitor, harbour: Path) -> None:
    outside = harbour.parent / "outside.tif"
    outside.write_bytes((harbour / "ferry stairs.tif").read_bytes())
    for number, picture in enumerate([str(outside), "../outside.tif"]):
        name = f"ticket {number}.toml"
        (harbour / name).write_text(f'picture = "{picture}"\nstock = "chalk-matte"\n')
        visitor.post("/api/open", {"path": name}, status=403)


def test_a_print_cannot_be_made_outside(visitor: Visitor, harbour: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    for folder in (str(harbour.parent / "elsewhere"), "../elsewhere", "/tmp", ".hidden"):
        error = visitor.post(f"/api/draft/{draft}/make", {"folder": folder}, status=403)["error"]
        assert error["code"] == "not-allowed"
    assert not (harbour.parent / "elsewhere").exists()


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"path": ', b"\xff\xfe", b'"x"'])
def test_what_is_not_json_is_refused_in_words(visitor: Visitor, body: bytes) -> None:
    answer = visitor.client.post("/api/open", content=body, headers=OURS)
    assert answer.status_code == 400
    assert answer.json()["error"]["code"] == "not-json"


def test_static_files_stay_in_their_folder(visitor: Visitor) -> None:
    assert visitor.client.get("/static/..%2f..%2fapp.py").status_code == 404
    assert visitor.client.get("/static/../app.py").status_code == 404
