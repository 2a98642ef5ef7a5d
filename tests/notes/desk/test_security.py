"""Who may ask the desk. Each case is one of OWASP's: DNS rebinding, cross-site request, missing key."""

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from notes.desk.app import make_app
from notes.desk.security import Keys

HERE = "http://127.0.0.1:8537"


def test_the_printed_address_opens_the_desk_and_nothing_else_does(stranger: TestClient, keys: Keys) -> None:
    assert stranger.get("/").status_code == 403
    assert stranger.get("/?key=wrong").status_code == 403
    assert stranger.get("/narrate", headers={"cookie": "tapeside-8537=guessed"}).status_code == 403

    opened = stranger.get(f"/?key={keys.entry}")

    assert opened.headers["location"] == "/"
    assert "HttpOnly" in opened.headers["set-cookie"] and "SameSite=strict" in opened.headers["set-cookie"]
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize("host", ["evil.example:8537", "127.0.0.1:80", "127.0.0.1", "localhost.evil.example:8537", ""])
def test_another_host_is_refused(coach: TestClient, host: str) -> None:
    assert coach.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8537", "http://127.0.0.1:1"])
def test_another_origin_is_refused(coach: TestClient, keys: Keys, origin: str) -> None:
    asked = coach.post("/narrations", headers={"origin": origin, "x-tapeside": keys.change})

    assert asked.status_code == 403


def test_a_change_needs_the_page_s_key(coach: TestClient, keys: Keys) -> None:
    form = {"athletes": "Mara", "sport": "boxing"}

    assert coach.post("/narrations", data=form).status_code == 403
    assert coach.post("/narrations", data=form, headers={"x-tapeside": "guessed"}).status_code == 403
    assert [coach.post(path).status_code for path in ("/learning", "/learning/undo")] == [403, 403]
    assert coach.post("/narrations", data=form, headers={"x-tapeside": keys.change}).status_code == 200


def test_every_page_forbids_what_is_not_its_own(coach: TestClient) -> None:
    for path in ("/", "/narrate", "/queue", "/athletes", "/search", "/missing", "/static/desk.css"):
        policy = coach.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
    assert coach.get("/").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    ["/static/../app.py", "/static/%2e%2e/app.py", "/media/..%2f..%2fetc%2fpasswd/sound", "/narrations/..%2f../take"],
)
def test_no_path_leads_out(coach: TestClient, path: str) -> None:
    assert coach.get(path).status_code == 404


def test_a_broken_page_tells_no_secrets(home: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: object) -> None:
        raise RuntimeError("secret of the house")

    monkeypatch.setattr("notes.archive.archive.Archive.recordings", broken)
    with TestClient(make_app(home, keys, 8537), base_url=HERE, raise_server_exceptions=False) as client:
        answer = client.get(f"/?key={keys.entry}")

    assert answer.status_code == 500
    assert "secret" not in answer.text and "Traceback" not in answer.text
