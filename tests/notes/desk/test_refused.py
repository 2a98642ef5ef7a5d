"""What a user can mend is told on the page in one sentence."""

from pathlib import Path

from starlette.testclient import TestClient


def test_a_fault_in_the_owner_s_lexicon_is_told_by_file_and_line(coach: TestClient, home: Path) -> None:
    home.mkdir(exist_ok=True)
    (home / "lexicon.yaml").write_text("- {id: chin-up, sya: [x]}\n")

    page = coach.get("/search?q=teep")

    assert page.status_code == 422
    assert "lexicon.yaml:1: unknown key" in page.text
