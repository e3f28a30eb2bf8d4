"""The workbench answers its own pages alone, and nothing beyond the case folder."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from neutralpoint.app.guard import POLICY
from neutralpoint.errors import CODES

API = "/c/hollow/api"
FIELDS = {"code", "message", "where", "hint"}


def refusal(response, status: int, code: str) -> dict[str, str]:
    """The four fields of a refusal, checked."""
    assert response.status_code == status, response.text
    error = response.json()["error"]
    assert set(error) == FIELDS
    assert all(error.values())
    assert error["code"] == code
    assert code in CODES
    assert "Traceback" not in response.text
    return error


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1", "127.0.0.1:8001", "evil.example:8000", "localhost:8000", ""],
)
def test_another_host_is_refused(workbench, host):
    refusal(workbench.get("/", headers={"Host": host}), 421, "request-refused")
    refusal(workbench.get(f"{API}/state", headers={"Host": host}), 421, "request-refused")


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "https://127.0.0.1:8000", "http://127.0.0.1:8001", "http://localhost:8000"],
)  # fmt: skip
def test_another_origin_is_refused(workbench, served_case, origin):
    refusal(workbench.get(f"{API}/state", headers={"Origin": origin}), 403, "request-refused")
    sent = workbench.put(f"{API}/file?name=a.csv", content=b"x", headers={"Origin": origin})
    refusal(sent, 403, "request-refused")
    assert not (served_case / "a.csv").exists()


def test_writing_needs_origin_and_token(workbench, served_case):
    for headers in ({"X-NP-Token": "wrong"}, {"X-NP-Token": ""}, {"X-NP-Token": b"\xe9"}):
        sent = workbench.put(f"{API}/file?name=a.csv", content=b"x", headers=headers)
        refusal(sent, 403, "request-refused")
    del workbench.headers["Origin"]
    refusal(workbench.post(f"{API}/undo"), 403, "request-refused")
    refusal(workbench.delete(f"{API}/file?name=track.csv"), 403, "request-refused")
    assert (served_case / "track.csv").is_file()


def test_a_request_that_another_site_makes_is_refused(workbench):
    crossed = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
    refusal(workbench.get(f"{API}/state", headers=crossed), 403, "request-refused")
    followed = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert workbench.get("/", headers=followed).status_code == 200


def test_every_answer_carries_the_policy(workbench):
    for path in ("/", "/c/hollow/", "/nothing", f"{API}/state", "/static/workbench.css"):
        headers = workbench.get(path).headers
        assert headers["content-security-policy"] == POLICY
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == "no-store"
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert "server" not in headers


@pytest.mark.parametrize("method", ["TRACE", "PATCH", "OPTIONS", "CONNECT", "X" * 300])
def test_other_methods_are_refused(workbench, method):
    refusal(workbench.request(method, f"{API}/state"), 405, "request-invalid")


def test_known_methods_at_the_wrong_place_are_refused(workbench):
    refusal(workbench.post(f"{API}/state"), 405, "request-invalid")
    refusal(workbench.delete(f"{API}/form"), 405, "request-invalid")
    refusal(workbench.get("/c/hollow/api/nothing"), 404, "not-found")
    refusal(workbench.get("/c/none/api/state"), 404, "not-found")


@pytest.mark.parametrize(
    "path",
    [
        "/static/../pages.py",
        "/static/%2e%2e%2fpages.py",
        "/static/..%2f..%2ferrors.py",
        "/static/%2e%2e%5cpages.py",
        "/c/..%2f/api/state",
        "/c/%2e%2e/api/state",
        "/c/hollow/results/..%2fcase.toml",
        "/c/hollow/results/%2e%2e%2f%2e%2e%2fcase.toml",
        "/c/hollow/results/..%5ccase.toml",
        "/c/hollow/results/%2fetc%2fpasswd",
        "/c/hollow/results/.hidden",
        "/c/hollow/results/findings.json%00.html",
        "/c/hollow/api/preview?name=..%2f..%2fsecret.csv",
        "/c/hollow/api/preview?name=%2fetc%2fpasswd",
    ],
)
def test_nothing_beyond_the_folder_is_read(workbench, served_case, path):
    (served_case.parent.parent / "secret.csv").write_text("a,b\n1,2\n")
    (served_case / "results" / ".hidden").write_text("x")
    response = workbench.get(path)
    assert response.status_code in (400, 404), response.text
    assert set(response.json()["error"]) == FIELDS


def test_links_are_not_followed(workbench, served_case, tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("time,latitude\n1,2\n")
    (served_case / "results" / "link.txt").symlink_to(secret)
    (served_case / "linked.csv").symlink_to(secret)
    (served_case.parent / "other").symlink_to(tmp_path)
    refusal(workbench.get("/c/hollow/results/link.txt"), 404, "not-found")
    refusal(workbench.get(f"{API}/preview?name=linked.csv"), 404, "not-found")
    refusal(workbench.delete(f"{API}/file?name=linked.csv"), 404, "not-found")
    sent = workbench.put(f"{API}/file?name=linked.csv&replace=1", content=b"x")
    refusal(sent, 409, "case-exists")
    assert secret.read_text().startswith("time")
    names = [file["name"] for file in workbench.get(f"{API}/state").json()["files"]]
    assert "linked.csv" not in names


@pytest.mark.parametrize(
    "name", ["", ".", "..", "../a.csv", "a/b.csv", "a\\b.csv", ".hidden", "a\x00b", "case.toml",
             "CASE.TOML", "claims.toml", "con:", "x" * 121, "a.csv ", "a.csv."],
)  # fmt: skip
def test_uploads_have_plain_names(workbench, served_case, name):
    before = sorted(path.name for path in served_case.rglob("*"))
    sent = workbench.put(f"{API}/file", params={"name": name}, content=b"x")
    refusal(sent, 400, "request-invalid")
    assert sorted(path.name for path in served_case.rglob("*")) == before


def test_huge_uploads_are_refused_and_leave_nothing(workbench, served_case):
    before = sorted(served_case.iterdir())
    url = f"{API}/file?name=big.csv"
    refusal(workbench.put(url, content=b"x" * 50_001), 413, "file-too-large")

    def pieces():
        for _ in range(60):
            yield b"x" * 1000

    refusal(workbench.put(url, content=pieces()), 413, "file-too-large")  # no length announced
    refusal(workbench.put(url, content=b"", headers={"Content-Length": "9" * 30}), 413,
            "file-too-large")  # fmt: skip
    refusal(workbench.put(url, content=b""), 422, "file-empty")
    assert sorted(served_case.iterdir()) == before


BAD_JSON = [
    b"{",
    b"[]",
    b"null",
    b"\xff\xfe",
    b'{"kind": NaN}',
    b"[" * 100_000,
    b'{"a":' * 50 + b"1" + b"}" * 50,
    b'{"kind": 7}',
    b'{"kind": null}',
    b"{}",
]


@pytest.mark.parametrize("body", BAD_JSON)
def test_bad_json_is_refused(workbench, body):
    refusal(workbench.post(f"{API}/jobs", content=body), 400, "request-invalid")


def test_too_much_json_is_refused(workbench):
    body = b'{"kind": "' + b"x" * 1_100_000 + b'"}'
    refusal(workbench.post(f"{API}/jobs", content=body), 413, "file-too-large")


def test_words_of_a_case_are_escaped(workbench, served_case):
    hostile = '<script>alert(1)</script>\\"><img src=x onerror=alert(1)>'
    text = re.sub(
        r"(?m)^title = .*$",
        lambda _: f'title = "{hostile}"',
        (served_case / "case.toml").read_text(),
    )
    (served_case / "case.toml").write_text(text)
    for path in ("/", "/c/hollow/"):
        page = workbench.get(path).text
        assert "<script>alert" not in page
        assert "<img src" not in page
        assert "&lt;script&gt;" in page


def test_a_saved_report_is_shown_without_rights(workbench, served_case):
    (served_case / "results" / "report.html").write_text("<script>1</script>")
    response = workbench.get("/c/hollow/report")
    assert response.status_code == 200
    assert response.headers["content-security-policy"].startswith("sandbox allow-scripts")
    assert "allow-same-origin" not in response.headers["content-security-policy"]
    assert "connect-src" not in response.headers["content-security-policy"]
    saved = workbench.get("/c/hollow/results/findings.json")
    assert saved.headers["content-disposition"].startswith("attachment")


def test_the_token_is_in_the_page_and_nowhere_else(workbench, served_case: Path):
    token = workbench.headers["X-NP-Token"]
    assert token in workbench.get("/c/hollow/").text
    assert token in workbench.get("/").text  # a case can be begun there
    assert token not in workbench.get("/static/cases.js").text
    assert token not in workbench.get(f"{API}/state").text
    assert len(token) >= 32


@pytest.mark.parametrize("name", ["claims.toml", "case.toml", "results", ".removed", ".history"])
def test_a_case_that_keeps_links_is_refused(workbench, served_case, tmp_path, name):
    away = tmp_path / "away"
    away.mkdir()
    (away / "secret").write_text("secret = 1")
    kept = served_case / name
    if kept.is_dir():
        kept.rename(tmp_path / "moved")
    kept.unlink(missing_ok=True)
    kept.symlink_to(away if "." not in name[1:] else away / "secret")
    for path in ("case.toml", "claims", "state", "figure/motion"):
        answer = workbench.get(f"{API}/{path}")
        refusal(answer, 400, "request-invalid")
        assert "secret" not in answer.text
    refusal(workbench.put(f"{API}/file?name=a.csv", content=b"x"), 400, "request-invalid")
    refusal(workbench.get("/c/hollow/results/secret"), 400, "request-invalid")
    assert [p.name for p in away.iterdir()] == ["secret"]
