"""Where things are in this repository, and how each script gets the Python, the libraries and the Node that it needs.

Must stay readable by an older Python: on a fresh machine it is what says which Python is wanted. Knows nothing of pages.
"""

import hashlib
import os
import shutil
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
CACHE = ROOT / ".cache"
SITE = ROOT / "site"
MODULES = ROOT / "node_modules"
WANTED = (3, 13)  # exactly: the browser's Python is 3.13 and byte code is made for it

_BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
_EXE = ".exe" if os.name == "nt" else ""


def tool(name):
    """The path of a program that lives in our own environment."""
    return str(_BIN / (name + _EXE))


def say(text):
    """Print a line now, even into a pipe."""
    print(text, flush=True)


@contextmanager
def step(what):
    """Name a step and say how long it took."""
    begun = time.perf_counter()
    yield
    say("  %-46s %6.1f s" % (what, time.perf_counter() - begun))


def run(*command, **kwargs):
    """Run a program from the root of the repository; if it fails, so do we."""
    kwargs.setdefault("cwd", str(ROOT))
    kwargs.setdefault("stdin", subprocess.DEVNULL)
    command = [str(part) for part in command]
    if subprocess.run(command, **kwargs).returncode:
        sys.exit("failed: " + " ".join(command))


def digest(*parts):
    """One short name for the content of files, folders and texts."""
    total = hashlib.sha256()
    for part in parts:
        if isinstance(part, Path):
            files = [part] if part.is_file() else sorted(
                f for f in part.rglob("*") if f.is_file() and "__pycache__" not in f.parts)
            for file in files:
                total.update(file.relative_to(part.parent).as_posix().encode() + b"\0")
                total.update(hashlib.sha256(file.read_bytes()).digest())
        else:
            total.update(hashlib.sha256(str(part).encode()).digest())
    return total.hexdigest()[:16]


def _version_of(python):
    try:
        done = subprocess.run([str(python), "-c", "import sys; print(*sys.version_info[:2])"],
                              stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=60)
        return tuple(int(part) for part in done.stdout.split()) if done.returncode == 0 else None
    except (OSError, ValueError, subprocess.SubprocessError):
        return None


def find_python():
    """A Python 3.13: this one, one in the path, or one kept by a version manager. Says what is needed if there is none."""
    name = "python%d.%d" % WANTED
    manager = Path(os.environ.get("PYENV_ROOT") or Path.home() / ".pyenv") / "versions"
    places = [sys.executable, shutil.which(name), shutil.which("python3"), shutil.which("python")]
    places += sorted(manager.glob("%d.%d*/bin/python" % WANTED), reverse=True) if manager.is_dir() else []
    for place in places:
        if place and _version_of(place) == WANTED:
            return str(place)
    if shutil.which("py"):
        done = subprocess.run(["py", "-%d.%d" % WANTED, "-c", "import sys; print(sys.executable)"],
                              stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        if done.returncode == 0:
            return done.stdout.decode().strip()
    sys.exit("Loftbook needs Python %d.%d (this is %d.%d, and no other was found).\n"
             "Install it, then run: %s %s"
             % (WANTED + sys.version_info[:2] + (name, " ".join(sys.argv))))


def _stamped(stamp, content):
    return stamp.is_file() and stamp.read_text() == content


def _set_up_python():
    stamp = VENV / "loftbook-stamp"
    content = digest(ROOT / "requirements.txt", ROOT / "pyproject.toml")
    if _stamped(stamp, content) and _version_of(tool("python")) == WANTED:
        return
    if _version_of(tool("python")) != WANTED:
        with step("make .venv"):
            run(find_python(), "-m", "venv", "--clear", VENV)
    with step("install what requirements.txt locks"):
        run(tool("python"), "-m", "pip", "install", "--quiet", "--quiet", "--disable-pip-version-check",
            "--require-hashes", "-r", "requirements.txt")
        run(tool("python"), "-m", "pip", "install", "--quiet", "--quiet", "--disable-pip-version-check",
            "--no-build-isolation", "--no-deps", "--editable", ".")
    stamp.write_text(content)


def _set_up_node():
    stamp = MODULES / "loftbook-stamp"
    content = digest(ROOT / "package-lock.json")
    if _stamped(stamp, content):
        return
    with step("install what package-lock.json locks"):
        run(tool("npm"), "ci", "--silent")
    stamp.write_text(content)


def set_up():
    """Make the environment, or leave it alone if the locks have not changed since."""
    _set_up_python()
    _set_up_node()


def go_inside():
    """Set up, then go on inside our own environment: call first thing in a script that a person starts."""
    set_up()
    if Path(sys.prefix).resolve() != VENV.resolve():
        command = [tool("python"), *sys.argv]
        if os.name == "nt":
            sys.exit(subprocess.call(command))
        os.execv(command[0], command)
