"""The Content-Security-Policy: hashes of the inline scripts that the theme writes, one meta tag per page, one headers file.

The tag covers a page; a worker obeys the headers it came with, hence the file, for hosts that read one and for our own server.
"""

import base64
import hashlib
import re
from collections.abc import Iterable
from pathlib import Path

SCRIPT = re.compile(r"<script(?P<attributes>[^>]*)>(?P<text>.*?)</script>", re.DOTALL | re.IGNORECASE)
CHARSET = re.compile(r"<meta charset=[^>]*>", re.IGNORECASE)
DATA_TYPE = re.compile(r"type=[\"']?(application/(ld\+)?json|text/template)", re.IGNORECASE)
RULES = ("style-src 'self'", "worker-src 'self'", "img-src 'self' data:", "connect-src 'self'", "font-src 'self'",
         "manifest-src 'self'", "object-src 'none'", "base-uri 'none'", "form-action 'none'")


def inline_hashes(html: str) -> set[str]:
    """The hash of each inline script that a browser would run."""
    return {
        f"'sha256-{base64.b64encode(hashlib.sha256(found['text'].encode()).digest()).decode()}'"
        for found in SCRIPT.finditer(html)
        if "src=" not in found["attributes"] and not DATA_TYPE.search(found["attributes"])
    }


def policy(hashes: Iterable[str], *, worker: bool = False) -> str:
    """The policy as one line; `worker` adds what running WebAssembly takes, and nothing looser."""
    scripts = ["script-src 'self'", *(["'wasm-unsafe-eval'"] if worker else []), *sorted(hashes)]
    return "; ".join(["default-src 'self'", " ".join(scripts), *RULES])


def headers_file(hashes: Iterable[str]) -> str:
    """Rules as several hosts read them: a path, then its headers, indented. `*` stands for anything."""
    return f"""\
/*
  Content-Security-Policy: {policy(hashes, worker=True)}; frame-ancestors 'none'
  X-Content-Type-Options: nosniff
  Referrer-Policy: no-referrer
  Cross-Origin-Opener-Policy: same-origin
  Permissions-Policy: camera=(), geolocation=(), microphone=()
  Cache-Control: no-cache
/assets/live/runtime/*
  Cache-Control: public, max-age=31536000, immutable
"""


def apply(site: Path) -> set[str]:
    """Write the policy into every page of a built site, and the headers file beside them."""
    pages = {page: page.read_text() for page in sorted(site.rglob("*.html"))}
    hashes = set().union(*(inline_hashes(html) for html in pages.values()))
    tag = f'<meta http-equiv="Content-Security-Policy" content="{policy(hashes)}">'
    for page, html in pages.items():
        new, count = CHARSET.subn(lambda found: found[0] + tag, html, count=1)
        if count != 1:
            raise SystemExit(f"no place for the policy in {page}")
        page.write_text(new)
    (site / "_headers").write_text(headers_file(hashes))
    return hashes
