"""A small server for the built site: right types, the headers of the site's `_headers` file, compressed transfer.

Needs nothing but the standard library of any Python 3.8 or newer, since the offline archive carries it as `serve.py`.
Usage: python3 server.py [--port N] [--under /PATH/] [FOLDER]
"""

import argparse
import contextlib
import fnmatch
import functools
import gzip
import io
import re
import threading
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import urlsplit

TYPES = {
    **SimpleHTTPRequestHandler.extensions_map,
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".mjs": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8", ".json": "application/json", ".wasm": "application/wasm", ".svg": "image/svg+xml",
    ".png": "image/png", ".ico": "image/x-icon", ".woff2": "font/woff2", ".xml": "application/xml", ".zip": "application/zip",
    ".txt": "text/plain; charset=utf-8", ".toml": "text/plain; charset=utf-8", ".webmanifest": "application/manifest+json",
}
SQUEEZED = {".html", ".js", ".mjs", ".css", ".json", ".wasm", ".svg", ".xml", ".txt", ".toml"}
MISSING = "404.html"
RULES = "_headers"


def read_rules(text):
    """[(path pattern, [(header, value)])] from a `_headers` file."""
    rules = []
    for line in text.splitlines():
        if line.startswith("/"):
            rules.append((line.strip(), []))
        elif line.strip():
            name, value = line.strip().split(":", 1)
            rules[-1][1].append((name, value.strip()))
    return rules


_squeezed = {}  # a file's squeezed form, made once: folders may share a file


class Site:
    """A folder of files, each kept with its squeezed form once it was asked for."""

    def __init__(self, folder):
        self.folder = Path(folder).resolve()
        rules = self.folder / RULES
        self.rules = read_rules(rules.read_text()) if rules.is_file() else []
        self._lock = threading.Lock()

    def headers_for(self, file):
        """The last rule that matches a file's path and names a header wins."""
        path = "/" + file.relative_to(self.folder).as_posix()
        found = {}
        for pattern, headers in self.rules:
            if fnmatch.fnmatchcase(path, pattern):
                found.update(headers)
        return found

    def squeezed(self, file):
        stat = file.stat()
        key = (stat.st_dev, stat.st_ino, stat.st_size, stat.st_mtime_ns)
        with self._lock:
            if key not in _squeezed:
                _squeezed[key] = gzip.compress(file.read_bytes(), 6)
            return _squeezed[key]


class Handler(SimpleHTTPRequestHandler):
    """Paths and types are the standard library's. Ours: the headers of a Site, squeezed transfer, its own page for what is missing."""

    protocol_version = "HTTP/1.1"
    extensions_map = TYPES
    quiet = True
    disable_nagle_algorithm = True  # or every body waits 40 ms for the reader's word that the headers have come

    def __init__(self, *args, site, under):
        self.site, self.under = site, under
        super().__init__(*args, directory=str(site.folder))

    def translate_path(self, path):
        return super().translate_path(path[len(self.under) - 1:])

    def send_head(self):
        address = urlsplit(self.path)
        path = address.path
        if not path.startswith(self.under):
            return self._send_redirect(self.under) if path in ("/", self.under[:-1]) else self.send_error(HTTPStatus.NOT_FOUND)
        file = Path(self.translate_path(self.path))
        if path.endswith("/"):
            file = file / "index.html"
        if file.is_dir():
            return self._send_redirect(address._replace(path=path + "/").geturl())
        if not file.is_file() or file.name == RULES:
            return self.send_error(HTTPStatus.NOT_FOUND)
        return self._send_head_of(file, HTTPStatus.OK)

    def send_error(self, code, message=None, explain=None):
        page = self.site.folder / MISSING
        if code != HTTPStatus.NOT_FOUND or not page.is_file():
            return super().send_error(code, message, explain)
        body = self._send_head_of(page, code)
        return None if self.command == "HEAD" else self.copyfile(body, self.wfile)

    def log_message(self, *args):
        if not self.quiet:
            super().log_message(*args)

    def _send_redirect(self, where):
        self.send_response(HTTPStatus.MOVED_PERMANENTLY)
        self.send_header("Location", "/" + where.lstrip("/"))  # two slashes would name another host
        self.send_header("Content-Length", "0")
        self.end_headers()

    def _send_head_of(self, file, status):
        """Send status and headers of a file; returns what is to follow them."""
        stat = file.stat()
        headers = self.site.headers_for(file)
        headers["Content-Type"] = self.guess_type(str(file))
        headers["ETag"] = '"%x-%x"' % (stat.st_mtime_ns, stat.st_size)
        headers["Last-Modified"] = self.date_time_string(stat.st_mtime)
        if file.suffix in SQUEEZED:
            headers["Vary"] = "Accept-Encoding"
        if status == HTTPStatus.OK and self.headers.get("If-None-Match") == headers["ETag"]:
            status, body = HTTPStatus.NOT_MODIFIED, b""
        elif file.suffix in SQUEEZED and re.search(r"\bgzip\b", self.headers.get("Accept-Encoding", "")):
            headers["Content-Encoding"] = "gzip"
            body = self.site.squeezed(file)
        else:
            body = file.read_bytes()
        if status != HTTPStatus.NOT_MODIFIED:
            headers["Content-Length"] = str(len(body))
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        return io.BytesIO(body)


class Server(ThreadingHTTPServer):
    """Readers come and go in the middle of a file: that is no error of ours."""

    daemon_threads = True

    def handle_error(self, request, client_address):
        import sys
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)


def make_server(folder, port=0, under="/"):
    """A server of a folder on this machine only; port 0 takes any free one."""
    return Server(("127.0.0.1", port), functools.partial(Handler, site=Site(folder), under=under))


def main():
    parser = argparse.ArgumentParser(description="Serve the built guide on this machine only.")
    parser.add_argument("folder", nargs="?", default=str(Path(__file__).resolve().parent))
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--under", default="/", help="the path that the site hangs below, such as /guide/")
    given = parser.parse_args()
    with make_server(given.folder, given.port, given.under) as server:
        print("http://localhost:%d%s" % (server.server_address[1], given.under), flush=True)
        with contextlib.suppress(KeyboardInterrupt):
            server.serve_forever()


if __name__ == "__main__":
    main()
