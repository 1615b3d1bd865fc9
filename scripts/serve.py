"""From a fresh copy of the repository to the guide in a browser: sets up, builds and serves it on this machine.

    python3 scripts/serve.py [--port N] [--no-build] [--no-open]
"""

import argparse
import errno
import os
import sys
import webbrowser

import house


def arguments():
    parser = argparse.ArgumentParser(description="Build the guide and serve it on this machine only.")
    parser.add_argument("--port", type=int, default=8000, help="where to serve it; the next free one if it is taken")
    parser.add_argument("--no-build", action="store_true", help="serve what was built last")
    parser.add_argument("--no-open", action="store_true", help="only print the address")
    return parser.parse_args()


def first_free(folder, port):
    from server import make_server

    for candidate in range(port, port + 20):
        try:
            return make_server(folder, candidate)
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                raise
    return sys.exit("no free port from %d to %d" % (port, port + 19))


def has_screen():
    return sys.platform in ("darwin", "win32") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def main():
    given = arguments()
    house.go_inside()
    if not given.no_build or not house.SITE.is_dir():
        import build

        house.say("Building Loftbook:")
        build.build()
    with first_free(house.SITE, given.port) as server:
        address = "http://localhost:%d/plan/" % server.server_address[1]
        house.say("\nThe guide is open on this machine. The demo rig's plan:\n\n    %s\n\nCtrl+C ends it." % address)
        if not given.no_open and has_screen():
            webbrowser.open(address)
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            house.say("")


if __name__ == "__main__":
    main()
