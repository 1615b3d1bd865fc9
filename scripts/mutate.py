"""Do the tests notice small faults? Puts them into the core one at a time and runs the tests: `python scripts/mutate.py --count 400`.

    --list            which faults, and try none        --seed S          another sample
    --processes P     so many at a time (1)             --near            the nearest tests and kept figures only
    --copy FOLDER     the copy to work on: made, or, with its run without a fault, used again
    --of PATTERN      only files whose path has this in it (a regular expression)
    --again LOG       only what survived in an earlier run, of which this is what it printed
    --cases N         of a test with many cases only so many, evenly spread (8; 0 for all, which takes hours)

A fault is one small change in calc/loftbook/physics or worked: another comparison or sign, min for max, a condition the
other way round, a number a few per cent off, an addend left out, the wrong end of a range. Never in words or annotations.

Works on a copy, the tree itself is never changed. First all tests run once without a fault: which lines each of them
reaches, and how long it takes; one that fails then does not count. Then, for each fault, a process is forked from one that
has all libraries loaded but nothing of the core, and gets the faulty module in place of the right one. First come figures beside
the judge's and the quickest tests that reach the line; a fault that they let through is tried on the figures that are kept
(tests/judge/kept.json), which hold nothing to be right, only the same, so what only they notice is counted apart; then on all
other tests. One that takes far more time than the tests do, counted on the processor, is noticed, too: it does not come to an end.
Survivors that are explained stand in tests/judge/survivors.md.
"""

import argparse
import ast
import contextlib
import copy
import importlib
import importlib.machinery
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
WHERE = ("calc/loftbook/physics", "calc/loftbook/worked")
TESTS = ("tests/core", "tests/outside", "tests/judge")
KEPT, BESIDE = "tests/judge/test_kept.py", "tests/judge/test_figures.py"
PARTS = ("calc", "tests", "scripts", "docs", "pyproject.toml", "mkdocs.yml", "README.md", "DEVELOPERS.md", "LICENSE", ".gitignore")
EXPLAINED = "tests/judge/survivors.md"
# Not of what the core computes: how rigs, numbers and tables are read, texts of the house; and whole rigs by the hundred.
SKIPPED = (
    "no_rig_that_the_plan_calls_sound", "hardly_a_good_rig", "test_house.py", "test_first_hour.py", "test_physics_docs.py",
    "test_rig.py", "test_quantity.py", "test_tables.py", "test_live.py", "test_corners.py", "test_what_is_kept",
)  # fmt: skip
LIBRARIES = (
    "pytest", "hypothesis", "hypothesis.strategies", "numpy", "scipy.integrate", "scipy.optimize", "scipy.interpolate", "scipy.special",
    "scipy.stats", "scipy.constants", "shapely", "shapely.affinity", "shapely.ops", "pint", "ambiance", "fluids", "rich", "segno", "tomli_w",
)  # fmt: skip
NEAR, NEAR_SECONDS = 40, 2.0  # tests that reach the line are run first, so many, each no slower than this
SLOWER = 4.0  # times what the tests took without the fault, and the following seconds
SPARE = 30.0

# --- faults -------------------------------------------------------------------------------------------

SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
TURNED: dict[type[ast.AST], type[ast.AST]] = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "sine": "cosine", "cosine": "sine"}
ENDS = {"low": "high", "high": "low", "best": "high", "forward": "aft", "aft": "forward", "first": "last", "last": "first"}


@dataclass(frozen=True)
class Fault:
    """One change: number of its node among those of its file, the kind of change, and what a reader sees of it."""

    file: str
    node: int
    kind: str
    line: int
    inside: str
    before: str
    after: str

    @property
    def change(self) -> str:
        return f"{self.before} → {self.after}"

    def __str__(self) -> str:
        return f"{self.file}:{self.line} ({self.inside}): {self.change}"


def changes(node: ast.AST) -> Iterator[tuple[str, Callable[[Any], ast.AST]]]:
    """Every small fault of one node: its kind, and what makes of a copy of the node the faulty one."""
    match node:
        case ast.Compare(ops=[op]) if type(op) in SWAPPED:
            yield "comparison", lambda n: ast.Compare(n.left, [SWAPPED[type(n.ops[0])]()], n.comparators)
            if type(op) in TURNED:
                yield "turned", lambda n: ast.Compare(n.left, [TURNED[type(n.ops[0])]()], n.comparators)
        case ast.BinOp(op=op) if type(op) in SWAPPED:
            yield "sign", lambda n: ast.BinOp(n.left, SWAPPED[type(n.op)](), n.right)
            if isinstance(op, ast.Add | ast.Sub):
                yield "addend", lambda n: n.left
        case ast.BoolOp():
            yield "and or", lambda n: ast.BoolOp(SWAPPED[type(n.op)](), n.values)
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield "dropped", lambda n: n.operand
        case ast.Call(func=ast.Name(id=name)) if name in NAMES:
            yield "name", lambda n: ast.Call(ast.Name(NAMES[n.func.id], ast.Load()), n.args, n.keywords)
        case ast.Attribute(attr=name, ctx=ast.Load()) if name in ENDS:
            yield "end", lambda n: ast.Attribute(n.value, ENDS[n.attr], n.ctx)
        case ast.Constant(value=bool()):
            yield "opposite", lambda n: ast.Constant(not n.value)
        case ast.Constant(value=int()):
            yield "number", lambda n: ast.Constant(n.value + 1)
        case ast.Constant(value=float()):
            yield "number", lambda n: ast.Constant(n.value * 1.03 if n.value else 0.03)
        case ast.IfExp() | ast.If() | ast.While():
            if not isinstance(node.test, ast.Compare | ast.UnaryOp):
                yield "condition", _negated
        case ast.comprehension(ifs=[ast.expr()]):
            yield "condition", _unasked


def _negated(node: Any) -> ast.AST:
    node.test = ast.UnaryOp(ast.Not(), node.test)
    return node


def _unasked(node: Any) -> ast.AST:
    node.ifs = []
    return node


def _walk(node: ast.AST, inside: str = "") -> Iterator[tuple[ast.AST, ast.AST, str, int | None, str]]:
    """(node, its parent, the field, the place in it, the function) of all that is computed: no words, no annotations."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params", "format_spec"):
            continue
        for place, child in enumerate(value) if isinstance(value, list) else ((None, value),):
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr | ast.TypeAlias | ast.Import | ast.ImportFrom):
                continue
            if isinstance(child, ast.Raise):  # what is said where something is refused
                continue
            named = child.name if isinstance(child, ast.FunctionDef | ast.ClassDef) else ""
            within = f"{inside}.{named}".strip(".") if named else inside
            yield child, node, name, place, within
            yield from _walk(child, within)


def faults(root: Path) -> list[Fault]:
    """All that can be put in, in the order of the files."""
    found = []
    for file in sorted(path for where in WHERE for path in (root / where).glob("*.py")):
        for number, (node, _, _, _, inside) in enumerate(_walk(ast.parse(file.read_text("utf-8")))):
            for kind, change in changes(node):
                before, after = _said(copy.deepcopy(node)), _said(change(copy.deepcopy(node)))
                found.append(Fault(str(file.relative_to(root)), number, kind, _line(node), inside, before, after))
    return found


def _line(node: ast.AST) -> int:
    return getattr(node, "lineno", None) or node.target.lineno  # type: ignore[attr-defined,no-any-return]


def _said(node: ast.AST) -> str:
    """A node as source, of a statement its condition."""
    if isinstance(node, ast.If | ast.While):
        return f"{'if' if isinstance(node, ast.If) else 'while'} {ast.unparse(node.test)}"
    return " ".join(ast.unparse(ast.fix_missing_locations(node)).split()).replace("|", "¦")


def faulty(fault: Fault, root: Path) -> CodeType:
    """The module with the fault in it, compiled."""
    path = root / fault.file
    tree = ast.parse(path.read_text("utf-8"))
    node, parent, name, place, _ = next(one for number, one in enumerate(_walk(tree)) if number == fault.node)
    made = next(change for kind, change in changes(node) if kind == fault.kind)(node)
    if hasattr(node, "lineno"):
        ast.copy_location(made, node)
    if place is None:
        setattr(parent, name, made)
    else:
        getattr(parent, name)[place] = made
    return compile(ast.fix_missing_locations(tree), str(path), "exec", dont_inherit=True)


# --- running ------------------------------------------------------------------------------------------


class Watcher:
    """A pytest plugin: what failed first; of the run without a fault which lines each test reaches, and its seconds.

    cases: of each test at most so many, 0 for all; order: these tests alone, in this order.
    """

    def __init__(self, root: Path, cases: int = 0, watching: bool = False, order: Sequence[str] = ()) -> None:
        self.root, self.cases, self.watching = root, cases, watching
        self.order = {name: i for i, name in enumerate(order)}
        self.failed: list[str] = []
        self.seconds: dict[str, float] = defaultdict(float)
        self.lines: dict[str, list[str]] = {}
        self.reached: set[str] = set()

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = [item for item in items if not any(name in item.nodeid for name in SKIPPED)]
        if self.cases:
            alike = defaultdict(list)
            for item in items:
                alike[item.nodeid.partition("[")[0]].append(item)
            items[:] = [
                item
                for name, cases in alike.items()
                for item in (cases if name.startswith(KEPT) else cases[:: -(-len(cases) // self.cases)])
            ]
        if self.order:
            items[:] = sorted((one for one in items if one.nodeid in self.order), key=lambda one: self.order[one.nodeid])

    def pytest_collectreport(self, report: Any) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.reached = set()
        self.begun = time.process_time()
        if self.watching:
            sys.monitoring.restart_events()

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_runtest_logfinish(self, nodeid: str) -> None:
        self.seconds[nodeid] += time.process_time() - self.begun
        if self.watching:
            self.lines[nodeid] = sorted(self.reached)

    def watch(self) -> None:
        """From now on every line is told once a test, of the core's modules as they are loaded."""
        tool, events = sys.monitoring.COVERAGE_ID, sys.monitoring.events
        places = {str(self.root / where): where for where in WHERE}

        def line(code: CodeType, number: int) -> Any:
            path = Path(code.co_filename)
            self.reached.add(f"{places[str(path.parent)]}/{path.name}:{number}")
            return sys.monitoring.DISABLE

        def watched(code: CodeType) -> None:
            sys.monitoring.set_local_events(tool, code, events.LINE)
            for one in code.co_consts:
                if isinstance(one, CodeType):
                    watched(one)

        def loaded(path: str, code: CodeType) -> CodeType:
            if str(Path(path).parent) in places:
                watched(code)
            return code

        sys.monitoring.use_tool_id(tool, "faults")
        sys.monitoring.register_callback(tool, events.LINE, line)
        loading(loaded)


def loading(change: Callable[[str, CodeType], CodeType]) -> None:
    """From now on every module's code goes through `change` when it is loaded."""
    real = importlib.machinery.SourceFileLoader.get_code

    def get_code(self: Any, name: str) -> Any:
        code = real(self, name)
        return change(self.path, code) if code else code

    importlib.machinery.SourceFileLoader.get_code = get_code  # type: ignore[method-assign]


def run(root: Path, said: Path, watcher: Watcher, tests: Sequence[str], first: bool) -> None:
    """The tests, in this process; what came of it goes into a file."""
    import pytest

    os.chdir(root)
    with (root / f"{said.name}.log").open("w") as log:
        os.dup2(log.fileno(), 1)
        os.dup2(log.fileno(), 2)
        if watcher.watching:
            watcher.watch()
        options = ["-q", "-p", "no:cacheprovider", "--no-header", "--tb=no", *(["-x"] if first else [])]
        code = pytest.main([*options, *tests], [watcher])
    told = {"code": int(code), "failed": watcher.failed, "seconds": watcher.seconds, "lines": watcher.lines}
    said.write_text(json.dumps(told), "utf-8")


def forked(work: Callable[[], None], seconds: float) -> int:
    """The number of a process that does it, and is stopped when it has computed for so long."""
    child = os.fork()
    if child:
        return child
    try:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds) + 1, int(seconds) + 2))
        work()
    except BaseException as error:
        print(f"{type(error).__name__}: {error}", file=sys.__stderr__)
        os._exit(70)
    os._exit(0)


def warmed(root: Path) -> None:
    """Everything that the tests import, loaded once; nothing of the core."""
    sys.dont_write_bytecode = True
    sys.path[:] = [str(root / "calc"), str(root / "scripts"), *(path for path in sys.path if Path(path) != ROOT / "calc")]
    os.environ["PYTHONPATH"] = str(root / "calc")
    for name in LIBRARIES:
        importlib.import_module(name)
    from hypothesis import Phase, settings

    settings.register_profile("faults", phases=[Phase.explicit, Phase.generate], database=None)  # no looking for the least case
    settings.load_profile("faults")


@dataclass(frozen=True)
class Sound:
    """The run without a fault: seconds of each test that passes, and the tests that reach a line, the quickest first."""

    seconds: dict[str, float]
    reach: dict[str, list[str]]

    def order(self, fault: Fault, stage: str) -> list[str]:
        """Tests for a fault: those near it, the figures kept, or all others."""
        reaching = self.reach.get(f"{fault.file}:{fault.line}", [])
        kept = [name for name in self.seconds if name.startswith(KEPT)]
        if stage == "kept":
            return kept
        near = self._near([name for name in reaching if not name.startswith(KEPT)])
        if stage == "near":
            return near
        return sorted(set(self.seconds) - set(near) - set(kept), key=lambda one: self.seconds[one])

    def _near(self, quickest: Sequence[str]) -> list[str]:
        """Figures beside the judge's; then the quickest case of every test, then the second of each: cases notice the same."""
        turn, place = Counter[str](), dict[str, tuple[int, float]]()
        beside = [name for name in quickest if name.startswith(BESIDE)]
        for name in quickest:
            test = name.partition("[")[0]
            place[name] = turn[test], self.seconds[name]
            turn[test] += 1
        others = sorted((one for one in quickest if one not in beside and self.seconds[one] < NEAR_SECONDS), key=place.__getitem__)
        return [*beside, *others[:NEAR]]

    def limit(self, tests: Sequence[str]) -> float:
        return SPARE + SLOWER * sum(self.seconds[one] for one in tests)


def without(root: Path, cases: int) -> Sound:
    """All tests once, without a fault."""
    said = root / "sound.json"
    if not said.exists():
        os.waitpid(forked(lambda: run(root, said, Watcher(root, cases, watching=True), TESTS, False), 7200), 0)
    told = json.loads(said.read_text("utf-8"))
    for name in told["failed"]:
        print(f"fails without a fault, does not count: {name}")
    seconds = {name: taken for name, taken in told["seconds"].items() if name not in told["failed"]}
    reach: dict[str, list[str]] = defaultdict(list)
    for name in sorted(seconds, key=lambda one: seconds[one]):
        for line in told["lines"][name]:
            reach[line].append(name)
    return Sound(seconds, reach)


@dataclass
class Trial:
    """A fault on its way through the tests, stage by stage. by: what noticed it."""

    fault: Fault
    stage: str = "near"
    by: str = ""


def begin(trial: Trial, sound: Sound, root: Path, number: int) -> int:
    tests = sound.order(trial.fault, trial.stage)
    said = root / f"trial-{number}.json"
    said.unlink(missing_ok=True)

    def work() -> None:
        path, wrong = str(root / trial.fault.file), faulty(trial.fault, root)
        loading(lambda one, code: wrong if one == path else code)
        run(root, said, Watcher(root, order=tests), TESTS if trial.stage == "rest" else list(tests), True)

    return forked(work, sound.limit(tests))


def ended(trial: Trial, root: Path, number: int, status: int) -> None:
    """What came of it: `by` is set where something noticed the fault."""
    if not os.WIFEXITED(status):
        trial.by = "it does not come to an end"
        return
    said = root / f"trial-{number}.json"
    if os.WEXITSTATUS(status) or not said.exists():
        trial.by = "nothing runs"
        return
    told = json.loads(said.read_text("utf-8"))
    if told["code"] not in (0, 5):
        trial.by = told["failed"][0] if told["failed"] else f"pytest: {told['code']}"


def tried(wanted: Sequence[Fault], sound: Sound, root: Path, processes: int, stages: Sequence[str]) -> Iterator[Trial]:
    """Each fault when it is decided."""
    waiting, running = [Trial(fault) for fault in wanted], dict[int, tuple[Trial, int]]()
    number = 0
    while waiting or running:
        while waiting and len(running) < processes:
            trial, number = waiting.pop(0), number + 1
            running[begin(trial, sound, root, number)] = (trial, number)
        child, status = os.wait()
        trial, at = running.pop(child)
        if not os.WIFEXITED(status):
            _end_group(child)
        ended(trial, root, at, status)
        later = stages[stages.index(trial.stage) + 1 :]
        if trial.by or not later:
            yield trial
        else:
            trial.stage = later[0]
            waiting.insert(0, trial)


def _end_group(child: int) -> None:
    """What a process that was stopped had started itself."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)


# --- what is told -------------------------------------------------------------------------------------


def explained(root: Path) -> dict[tuple[str, str, str], str]:
    """(file, function, change) -> why it is no fault, from the table of those that were looked at."""
    rows = {}
    for line in (root / EXPLAINED).read_text("utf-8").splitlines() if (root / EXPLAINED).exists() else ():
        cells = [cell.strip().strip("`") for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) == 4:
            rows[cells[0], cells[1], cells[2]] = cells[3]
    return rows


def told(trials: Sequence[Trial], known: dict[tuple[str, str, str], str]) -> None:
    alive = [one for one in trials if not one.by]
    print(f"\n{len(trials)} faults, {len(trials) - len(alive)} noticed: {100 * (1 - len(alive) / len(trials)):.1f} %")
    kept = sum(one.by.startswith(KEPT) for one in trials)
    print(f"by tests of what is right at least {100 * (1 - (len(alive) + kept) / len(trials)):.1f} %; {kept} by the figures kept, before those had all run")
    for name, count in Counter(one.by.split("::")[0] for one in trials if one.by).most_common():
        print(f"  {count} by {name}")
    fine = {one.fault: known.get((one.fault.file, one.fault.inside, one.fault.change), "") for one in alive}
    real = len(trials) - sum(map(bool, fine.values()))
    if real:
        print(f"of {real} that change anything {100 * (len(trials) - len(alive)) / real:.1f} %")
    print(f"{len(alive)} survive, {sum(map(bool, fine.values()))} of them explained:")
    for fault, why in sorted(fine.items(), key=lambda one: str(one[0])):
        print(f"  {fault}{f'  ({why})' if why else ''}")


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=400, help="faults (400)")
    options.add_argument("--seed", type=int, default=0, help="of the sample (0)")
    options.add_argument("--processes", type=int, default=1, help="at a time (1)")
    options.add_argument("--list", action="store_true", help="say which, and try none")
    options.add_argument("--of", default="", help="a regular expression that a file's path must have in it")
    options.add_argument("--cases", type=int, default=8, help="of each test (8), 0 for all")
    options.add_argument("--copy", help="a folder for the copy that is worked on, to be used again (none)")
    options.add_argument("--near", action="store_true", help="only the nearest tests and the figures kept")
    options.add_argument("--again", type=Path, help="what an earlier run printed: only its survivors are tried")
    said = options.parse_args()
    if said.list:
        print(*sampled(ROOT, said.of, said.count, said.seed), sep="\n")
        return 0
    with tempfile.TemporaryDirectory() as folder:
        root = Path(said.copy or folder).resolve()
        if not (root / "calc").exists():
            copied(root)
        wanted = sampled(root, said.of, said.count, said.seed)
        if said.again:
            survived = {line.partition("SURVIVES: ")[2] for line in said.again.read_text("utf-8").splitlines()}
            wanted = [fault for fault in faults(root) if str(fault) in survived]
        warmed(root)
        sound = without(root, said.cases)
        print(f"{len(sound.seconds)} tests pass without a fault, in {sum(sound.seconds.values()):.0f} s", flush=True)
        trials = []
        stages = ("near", "kept") if said.near else ("near", "kept", "rest")
        for trial in tried(wanted, sound, root, said.processes, stages):
            trials.append(trial)
            print(f"{len(trials)} {'noticed by ' + trial.by if trial.by else 'SURVIVES'}: {trial.fault}", flush=True)
        told(trials, explained(ROOT))
    return 0


def sampled(root: Path, pattern: str, count: int, seed: int) -> list[Fault]:
    """Some of the faults, by dice that always fall alike."""
    every = [fault for fault in faults(root) if re.search(pattern, fault.file)]
    return random.Random(seed).sample(every, min(count, len(every)))


def copied(root: Path) -> None:
    """What the tests need, put aside."""
    root.mkdir(parents=True, exist_ok=True)
    for part in PARTS:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, root / part)
        elif (ROOT / part).exists():
            shutil.copy2(ROOT / part, root / part)


if __name__ == "__main__":
    sys.exit(main())
