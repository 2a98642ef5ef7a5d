"""A club teaches the second reader at the desk."""

import json
from pathlib import Path

from pigeons import SAID
from playwright.sync_api import Page, expect


def test_corrections_teach_and_can_be_taken_back(
    tapeside, sheet: Path, tmp_path: Path, home: Path, desk, page: Page
) -> None:
    page.goto(desk.base + "/queue")
    page.get_by_role("link", name="teach the second reader").click()
    expect(page.locator("main")).to_contain_text("Nothing has been corrected yet")
    talks = [tmp_path / f"review-{i}.vtt" for i in range(7)]
    for talk, said in zip(talks, SAID[:7], strict=True):
        talk.write_text(f"WEBVTT\n\n00:00:12.000 --> 00:00:15.000\n{said}\n")
    tapeside("add", *talks, "--sheet", sheet)
    tapeside("export", "--out", tmp_path / "all.json")
    ids = [o["id"] for o in json.loads((tmp_path / "all.json").read_text())["observations"]]
    assert tapeside("correct", ",".join(ids), "amended", "fault=staying-down").code == 0

    page.reload()
    page.get_by_role("button", name="Learn").click()
    page.wait_for_url("**/under-way/*")
    page.wait_for_url("**/learning")

    told = page.locator("main")
    expect(told).to_contain_text("0 kept, 7 amended, 0 struck, in 7 recordings")
    expect(page.get_by_role("row", name="which fault")).to_contain_text("taken")
    expect(told).to_contain_text("tapeside reread")
    assert (home / "club.npz").exists()

    page.get_by_role("button", name="Take back").click()
    expect(told).to_contain_text("The second reader reads as it comes.")
    assert not (home / "club.npz").exists()
