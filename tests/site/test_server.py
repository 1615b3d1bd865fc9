"""Our own server: what it sends, what it calls it, and what it keeps to itself. (That pages work from it, all other tests show.)"""

import gzip
import http.client
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from conftest import serving

RULES = """/*
  Referrer-Policy: no-referrer
  Cache-Control: no-cache
/deep/*
  Cache-Control: immutable
"""
FILES = {
    "_headers": RULES,
    "index.html": "<title>start</title>",
    "404.html": "<title>missing</title>",
    "plan/index.html": "<title>plan</title>",
    "deep/program.wasm": "not really a program",
    "deep/thing.whl": "not really a wheel",
    "two words.js": "1;",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        file = tmp_path / "site" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    (tmp_path / "secret.txt").write_text("outside of the site")
    return tmp_path / "site"


@pytest.fixture(params=["/", "/some/guide/"])
def base(request, folder: Path) -> Iterator[str]:
    with serving(folder, under=request.param) as url:
        yield url


def get(base: str, path: str, method: str = "GET", **headers: str) -> tuple[int, dict[str, str], bytes]:
    """Asks for exactly this path below the site's address, as no browser would."""
    parts = urlsplit(base)
    connection = http.client.HTTPConnection(parts.netloc, timeout=10)
    connection.request(method, parts.path + path, headers=headers)
    answer = connection.getresponse()
    found = answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
    connection.close()
    return found


@pytest.mark.parametrize(
    ("path", "file", "kind"),
    [
        ("", "index.html", "text/html; charset=utf-8"),
        ("plan/", "plan/index.html", "text/html; charset=utf-8"),
        ("plan/?from=a-card", "plan/index.html", "text/html; charset=utf-8"),
        ("deep/program.wasm", "deep/program.wasm", "application/wasm"),
        ("deep/thing.whl", "deep/thing.whl", "application/octet-stream"),
        ("two%20words.js", "two words.js", "text/javascript; charset=utf-8"),
    ],
)
def test_files_have_their_types_and_the_site_s_headers(base: str, path: str, file: str, kind: str) -> None:
    status, headers, body = get(base, path)
    assert (status, body.decode()) == (200, FILES[file])
    assert headers["content-type"] == kind
    assert headers["content-length"] == str(len(body))
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == ("immutable" if file.startswith("deep/") else "no-cache")  # the last rule wins


def test_what_can_be_squeezed_is_for_those_who_can_unpack_it(base: str) -> None:
    status, headers, body = get(base, "deep/program.wasm", **{"Accept-Encoding": "br, gzip"})
    assert (status, headers["content-encoding"], headers["vary"]) == (200, "gzip", "Accept-Encoding")
    assert gzip.decompress(body).decode() == FILES["deep/program.wasm"]
    assert "content-encoding" not in get(base, "deep/thing.whl", **{"Accept-Encoding": "gzip"})[1]
    assert "content-encoding" not in get(base, "")[1]


def test_what_a_reader_has_is_not_sent_again_until_it_changes(base: str, folder: Path) -> None:
    mark = get(base, "")[1]["etag"]
    assert get(base, "", **{"If-None-Match": mark})[::2] == (304, b"")
    (folder / "index.html").write_text("<title>newer</title>")
    assert get(base, "", **{"If-None-Match": mark})[::2] == (200, b"<title>newer</title>")


def test_heads_have_no_bodies(base: str) -> None:
    for path, status in (("", 200), ("nothing", 404)):
        found = get(base, path, method="HEAD")
        assert (found[0], found[2]) == (status, b"")
        assert int(found[1]["content-length"]) > 0


@pytest.mark.parametrize("path", ["nothing", "nothing/", "plan/nothing.html", "index.html/", "deep/", "_headers", "%00",
                                  "../secret.txt", "%2e%2e/secret.txt", "plan/..%2f..%2fsecret.txt"])
def test_what_is_not_there_is_answered_with_the_site_s_page(base: str, path: str) -> None:
    status, headers, body = get(base, path)
    assert (status, body) == (404, b"<title>missing</title>")
    assert headers["content-type"] == "text/html; charset=utf-8"
    assert headers["referrer-policy"] == "no-referrer"


def test_a_folder_without_its_slash_is_told_where_it_is(base: str) -> None:
    status, headers, _ = get(base, "plan?from=a-card")
    assert (status, headers["location"]) == (301, urlsplit(base).path + "plan/?from=a-card")


def test_outside_of_its_path_there_is_nothing_but_the_way_to_it(folder: Path) -> None:
    with serving(folder, under="/some/guide/") as url:
        root = url.removesuffix("some/guide/")
        for path in ("", "some/guide"):
            assert get(root, path)[1].get("location") == "/some/guide/"
        assert get(root, "plan/")[0] == 404
        assert get(root, "some/guide//other.host/plan")[0] == 404
