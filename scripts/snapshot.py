"""Run inside Pyodide by snapshot.mjs, just before the memory image is taken: import all that is there of ours.

The image holds no files. A module that is not imported here can't be imported in the reader's browser later, but for those that
runtime.py has put aside: the worker fetches them with the first question about them.
"""

import contextlib
import csv  # noqa: F401  of the standard library, for modules that come late
import gc
import importlib
import json
import pkgutil
import sys
import types

importlib.invalidate_caches()  # the files were unpacked behind Python's back
# Libraries of ours would fetch XML from the net, write pictures of codes, keep files in a home and look at numbered hosts with these,
# which nothing here asks for; the first alone brings a fortieth of all there is to fetch.
for unwanted in ("urllib.request", "segno.writers", "platformdirs", "ipaddress"):
    sys.modules[unwanted] = types.ModuleType(unwanted)

import loftbook  # noqa: E402

# What pages ask beside calculations and files (loftbook/faces/live.py lists it).
OTHER_REQUESTS = (
    {"do": "part", "names": ["main.packing"], "fields": {}},
    {"do": "walk", "fields": {}},
    {"do": "card", "fields": {}},
)


def import_all() -> None:
    for module in pkgutil.walk_packages(loftbook.__path__, "loftbook."):
        importlib.import_module(module.name)


def ask(request: dict[str, object]) -> dict[str, object]:
    reply = json.loads(sys.modules["loftbook.faces.live"].answer(json.dumps(request)))
    if reply.get("ok") is not True:
        raise SystemExit(f"the core does not answer {request}: {reply}")
    return reply


def rehearse() -> None:
    """Ask once what pages ask: it imports what is imported late, and fills the caches, so that a first answer is quick."""
    for name in ask({"do": "about"})["calculators"]:
        for act in ("calculate", "more"):
            with contextlib.suppress(ImportError):  # one that is put aside
                ask({"do": act, "calculator": name, "fields": {}})
    for request in OTHER_REQUESTS:
        ask(request)
    for form in ("toml", "json"):
        text = ask({"do": "write", "fields": {}, "format": form})["text"]
        # an empty rig: so its faults are rehearsed too
        sys.modules["loftbook.faces.live"].answer(json.dumps({"do": "read", "text": text}))


def forget() -> None:
    """What is quicker made again than fetched: whole results, pictures, folds, logarithms, texts of numbers."""
    sys.modules["loftbook.physics.remembered"].forget()
    sys.modules["loftbook.quantity"]._written.cache_clear()


def drop_annotations() -> None:
    """What functions say of their types is for checkers; classes keep theirs, which make them."""
    for one in gc.get_objects():
        if isinstance(one, types.FunctionType):
            del one.__annotations__


import_all()
rehearse()
forget()
drop_annotations()
sys.path_importer_cache.clear()
gc.collect()
gc.freeze()  # what is here stays: no later collection looks through it again
