"""Packs Python for the memory image as byte code without docstrings, line tables and packaging notes: an eighth less to fetch.

    python bytecode.py OUT.zip FOLDER-OR-ZIP

(The wheels of the ordinary boot are compiled by `pyodide py-compile`, which leaves nothing out.) What is lost: a traceback out of
the image names functions but no lines. The same input gives the same bytes; to be run as a process of its own, since the last
details of byte code depend on what else a process holds.
"""

import argparse
import importlib.util
import marshal
import types
import zipfile
from collections.abc import Iterator
from pathlib import Path

CO_HAS_DOCSTRING = 0x4000000
HEADER = importlib.util.MAGIC_NUMBER + (1).to_bytes(4, "little") + bytes(8)  # by hash, never checked


def slimmer(code: types.CodeType) -> types.CodeType:
    """The same program, which no longer knows its lines and its docstrings."""
    consts = tuple(slimmer(const) if isinstance(const, types.CodeType) else const for const in code.co_consts)
    if code.co_flags & CO_HAS_DOCSTRING:
        consts = (None, *consts[1:])
    return code.replace(co_consts=consts, co_flags=code.co_flags & ~CO_HAS_DOCSTRING, co_linetable=b"")


def members(source: Path) -> Iterator[tuple[str, bytes]]:
    """Name and content of each file, in the order of the names."""
    if source.is_dir():
        for file in sorted(source.rglob("*")):
            if file.is_file():
                yield file.relative_to(source).as_posix(), file.read_bytes()
    else:
        with zipfile.ZipFile(source) as packed:
            for name in sorted(packed.namelist()):
                if not name.endswith("/"):
                    yield name, packed.read(name)


def slimmed(name: str, data: bytes) -> tuple[str, bytes]:
    """Source and byte code as slim byte code, anything else as it is."""
    if name.endswith(".py"):
        return name + "c", HEADER + marshal.dumps(slimmer(compile(data, name, "exec", dont_inherit=True, optimize=2)))
    if name.endswith(".pyc") and data[:4] == HEADER[:4]:
        return name, HEADER + marshal.dumps(slimmer(marshal.loads(data[16:])))
    return name, data


def pack(out: Path, files: Iterator[tuple[str, bytes]]) -> None:
    """A zip file that holds nothing of when and where it was made."""
    with zipfile.ZipFile(out, "w") as packed:
        for name, data in files:
            packed.writestr(zipfile.ZipInfo(name), data, compress_type=zipfile.ZIP_DEFLATED)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("source", type=Path)
    given = parser.parse_args()
    pack(given.out, (slimmed(name, data) for name, data in members(given.source) if ".dist-info/" not in name))
