"""A small server for the built site: right types, the headers of the site's `_headers` file, compressed transfer.

Needs nothing but the standard library of any Python 3.8 or newer, since the offline archive carries it as `serve.py`.
Usage: python3 server.py [--port N] [--under /PATH/] [FOLDER]
"""

import argparse
import contextlib
import fnmatch
import gzip
import re
import threading
from email.utils import formatdate
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

TYPES = {
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".mjs": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8", ".json": "application/json", ".wasm": "application/wasm", ".svg": "image/svg+xml",
    ".png": "image/png", ".ico": "image/x-icon", ".woff2": "font/woff2", ".xml": "application/xml", ".zip": "application/zip",
    ".txt": "text/plain; charset=utf-8", ".toml": "text/plain; charset=utf-8", ".webmanifest": "application/manifest+json",
}
SQUEEZED = {".html", ".js", ".mjs", ".css", ".json", ".wasm", ".svg", ".xml", ".txt", ".toml"}


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


class Site:
    """A folder of files, each kept with its squeezed form once it was asked for."""

    def __init__(self, folder):
        self.folder = Path(folder).resolve()
        headers = self.folder / "_headers"
        self.rules = read_rules(headers.read_text()) if headers.is_file() else []
        self._squeezed = {}
        self._lock = threading.Lock()

    def find(self, path):
        """The file of a path inside the site, or None."""
        file = (self.folder / unquote(path).lstrip("/")).resolve()
        if self.folder not in (file, *file.parents):
            return None
        return file

    def headers_for(self, path):
        """The last rule that matches a path and names a header wins."""
        found = {}
        for pattern, headers in self.rules:
            if fnmatch.fnmatchcase(path, pattern):
                found.update(headers)
        return found

    def squeezed(self, file):
        key = (file, file.stat().st_mtime_ns)
        with self._lock:
            if key not in self._squeezed:
                self._squeezed[key] = gzip.compress(file.read_bytes(), 6)
            return self._squeezed[key]


class Handler(BaseHTTPRequestHandler):
    """GET and HEAD of a Site that may hang below a path."""

    protocol_version = "HTTP/1.1"
    site = None
    under = "/"
    quiet = True

    def do_GET(self):
        path = urlsplit(self.path).path
        if not path.startswith(self.under):
            return self._send_redirect(self.under) if path in ("/", self.under.rstrip("/")) else self._send_missing()
        path = "/" + path[len(self.under):]
        file = self.site.find(path)
        if file is not None and file.is_dir():
            if not path.endswith("/"):
                return self._send_redirect(self.under.rstrip("/") + path + "/")
            file = file / "index.html"
            path += "index.html"
        if file is None or not file.is_file() or file.name == "_headers":
            return self._send_missing()
        return self._send(HTTPStatus.OK, path, file)

    do_HEAD = do_GET

    def _send_redirect(self, where):
        self.send_response(HTTPStatus.MOVED_PERMANENTLY)
        # one leading slash only: two would name another host
        self.send_header("Location", "/" + where.lstrip("/"))
        self.send_header("Content-Length", "0")
        self.end_headers()

    def _send_missing(self):
        self._send(HTTPStatus.NOT_FOUND, "/404.html", self.site.folder / "404.html")

    def _send(self, status, path, file):
        body = file.read_bytes() if file.is_file() else b"Not found."
        headers = dict(self.site.headers_for(path))
        headers["Content-Type"] = TYPES.get(file.suffix, "application/octet-stream")
        if file.is_file():
            stat = file.stat()
            headers["ETag"] = '"%x-%x"' % (stat.st_mtime_ns, stat.st_size)
            headers["Last-Modified"] = formatdate(stat.st_mtime, usegmt=True)
        if status == HTTPStatus.OK and self.headers.get("If-None-Match") == headers.get("ETag"):
            status, body = HTTPStatus.NOT_MODIFIED, b""
        elif file.suffix in SQUEEZED and file.is_file():
            headers["Vary"] = "Accept-Encoding"
            if re.search(r"\bgzip\b", self.headers.get("Accept-Encoding", "")):
                body = self.site.squeezed(file)
                headers["Content-Encoding"] = "gzip"
        headers["Content-Length"] = str(len(body))
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, *args):
        if not self.quiet:
            super().log_message(*args)


class Server(ThreadingHTTPServer):
    """Readers come and go in the middle of a file: that is no error of ours."""

    daemon_threads = True

    def handle_error(self, request, client_address):
        import sys
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)


def make_server(folder, port=0, under="/"):
    """A server of a folder on this machine only; port 0 takes any free one."""
    handler = type("SiteHandler", (Handler,), {"site": Site(folder), "under": under})
    return Server(("127.0.0.1", port), handler)


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
