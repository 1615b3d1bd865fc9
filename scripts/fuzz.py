"""Hunts for input that the core neither answers nor refuses: `python scripts/fuzz.py --seconds 600`.

    --only NAME       one group of parsers (rig, book, altimeter, typed, door)      --seed S      other dice
    --processes P     so many groups at a time (1)                                  --again FILE  one input once more, by itself
    --keep            puts what reaches something new among the beginnings of tests/core/test_hostile.py

What is done with an input, and what must hold of the answer, stands in scripts/hostile.py. The hunt is guided by the lines of the core
that an input reaches (atheris, Apache License 2.0: it puts counters into the byte code and libFuzzer under it). Only this script wants
that library, so it is locked in scripts/fuzz.txt and put into .cache/fuzz; there is no wheel for every system. What was reached is kept
there too, so a later run goes on from it.

Each find is tried once more in an interpreter without counters, and counts if it is there again: an error that is no refusal, a
refusal without a reason, an input that takes more than a second, something written down that does not read as it was.
"""

import argparse
import base64
import hashlib
import json
import os
import subprocess
import sys
import time
import traceback
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CACHE = ROOT / ".cache" / "fuzz"
LIBRARY, LOCK = CACHE / "library", ROOT / "scripts" / "fuzz.txt"
BEGINNINGS = ROOT / "tests" / "core" / "hostile"
COUNTED = ("loftbook.rig", "loftbook.log", "loftbook.faces.live", "loftbook.faces.flights", "loftbook.faces.logbook", "loftbook.quantity", "tomllib")
NAMES = ("rig", "book", "altimeter", "typed", "door")
MOST_KEPT, LONGEST_KEPT = 100, 900  # inputs of a group that are kept beside the tests, bytes of each
SLOW_WATCHED = 0.5  # s from which on an input is tried without counters, which take time themselves


def library() -> None:
    """The library that guides the hunt, in its own folder."""
    if (LIBRARY / "atheris").is_dir():
        return
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--require-hashes", "--target", LIBRARY, "--requirement", LOCK]
    subprocess.run(command, check=True)


def hunt(name: str, seconds: int, seed: int) -> None:
    """Runs in a process of its own, which libFuzzer ends."""
    sys.path[:0] = [str(LIBRARY), str(ROOT / "calc"), str(ROOT / "scripts")]
    import atheris

    with atheris.instrument_imports(include=list(COUNTED)):
        import hostile
    group, finds, corpus = hostile.GROUPS[name], CACHE / "finds" / name, CACHE / "corpus" / name
    for folder in (finds, corpus):
        folder.mkdir(parents=True, exist_ok=True)
    for data in (*hostile.beginnings(group), *kept(name)):
        (corpus / hashlib.sha256(data).hexdigest()[:20]).write_bytes(data)
    words = CACHE / f"{name}.words"
    words.write_text("".join(f'"{"".join(f"\\x{byte:02x}" for byte in word)}"\n' for word in hostile.word_bytes(group) if len(word) < 64))
    there: set[str] = set()

    def note(sign: str, data: bytes) -> None:
        if sign not in there:
            there.add(sign)
            (finds / hashlib.sha256(sign.encode()).hexdigest()[:12]).write_bytes(data)

    def run(data: bytes) -> None:
        begun = time.process_time()
        try:
            group.run(data)
        except Exception as error:  # any of them is a find
            note(sign_of(error), data)
        if time.process_time() - begun > SLOW_WATCHED:
            note(f"slow {len(there) % 20}", data)

    options = [f"-max_total_time={seconds}", f"-seed={seed}", f"-max_len={group.longest}", f"-dict={words}", "-rss_limit_mb=3000", "-timeout=60", "-print_final_stats=1", "-verbosity=1"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], run, enable_python_coverage=True)
    atheris.Fuzz()


def sign_of(error: Exception) -> str:
    """Where an error comes from: one find of each is enough."""
    frames = [f"{Path(frame.filename).name}:{frame.lineno}" for frame in traceback.extract_tb(error.__traceback__)]
    return f"{type(error).__name__} {' '.join(frames[-2:])}"


def again(name: str, data: bytes) -> str:
    """What is wrong with an answer, "" for nothing, without anything that counts."""
    sys.path[:0] = [str(ROOT / "calc"), str(ROOT / "scripts")]
    import hostile

    group = hostile.GROUPS[name]
    group.run(hostile.beginnings(group)[0])  # what is loaded at the first question is not the input's
    begun = time.process_time()
    try:
        group.run(data)
    except Exception as error:  # any of them is a find
        return f"{sign_of(error)}: {str(error)[:300]}"
    taken = time.process_time() - begun
    return f"it took {taken:.1f} s" if taken > hostile.SLOW else ""


def kept(name: str) -> list[bytes]:
    """What earlier runs found and put beside the tests."""
    file = BEGINNINGS / f"{name}.json"
    return [base64.b85decode(one) for one in json.loads(file.read_text())] if file.is_file() else []


def keep(name: str) -> int:
    """Of all that reached something new some short inputs, evenly from the shortest to the longest."""
    import hostile

    begun_with = set(hostile.beginnings(hostile.GROUPS[name]))
    found = (file.read_bytes() for file in (CACHE / "corpus" / name).iterdir())
    short = sorted({data for data in found if len(data) <= LONGEST_KEPT} - begun_with, key=lambda data: (len(data), data))
    chosen = short[:: max(1, -(-len(short) // MOST_KEPT))]
    BEGINNINGS.mkdir(exist_ok=True)
    (BEGINNINGS / f"{name}.json").write_text(json.dumps([base64.b85encode(data).decode() for data in chosen], indent=0) + "\n")
    return len(chosen)


def hunted(name: str, seconds: int, seed: int) -> list[str]:
    """One group, hunted through for that long; every find that is there again."""
    log = CACHE / f"{name}.log"
    log.parent.mkdir(parents=True, exist_ok=True)
    environment = os.environ | {"PYTHONPATH": str(ROOT / "calc")}
    with log.open("w") as out:
        subprocess.run([sys.executable, __file__, "--child", name, "--seconds", str(seconds), "--seed", str(seed)], stdout=out, stderr=out, env=environment, check=False)
    told = log.read_text(errors="replace")
    runs = next((row.split()[1] for row in reversed(told.splitlines()) if row.startswith("Done ")), "")
    if not runs:
        return [f"{name}: the hunt ended before its time, see {log}"]
    print(f"{name}: {runs} inputs in {seconds} s", flush=True)
    found = []
    for file in sorted((CACHE / "finds" / name).glob("*")):
        command = [sys.executable, __file__, "--only", name, "--again", str(file)]
        said = subprocess.run(command, capture_output=True, text=True, env=environment, check=False).stdout.strip()
        if said:
            found.append(f"{name}: {said}\n    {file}")
        else:
            file.unlink()  # counters made it slow, or it is mended
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--only", choices=NAMES)
    parser.add_argument("--again", type=Path)
    parser.add_argument("--keep", action="store_true")
    parser.add_argument("--child", choices=NAMES, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        hunt(options.child, options.seconds, options.seed)
    if options.again:
        said = again(options.only, options.again.read_bytes())
        print(said)
        return 1 if said else 0
    library()
    names = [options.only] if options.only else list(NAMES)
    with ThreadPoolExecutor(options.processes) as pool:
        found = [one for rows in pool.map(lambda name: hunted(name, options.seconds, options.seed), names) for one in rows]
    if options.keep:
        for name in names:
            print(f"{name}: {keep(name)} inputs are kept")
    print("\n".join(found) if found else "Nothing was found.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
