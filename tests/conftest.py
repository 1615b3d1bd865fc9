"""What all tests share: the table of pages and engines at the end."""

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The table of pages and engines, as far as test_engines.py has run: what each page said of itself, by case."""
    reports = [report for kind in ("passed", "failed") for report in terminalreporter.stats.get(kind, []) if report.when == "call"]
    cells = [told for report in reports for name, told in report.user_properties if name == "cell"]
    if not cells:
        return
    rows: dict[tuple[str, str], dict[str, list[str]]] = {}
    for case, page, engine, told in cells:
        rows.setdefault((case, page), {}).setdefault(engine, []).append(told)
    engines = sorted({engine for _, _, engine, _ in cells})
    width = max(len(" / ".join(told)) for (_, page), found in rows.items() for told in found.values() if page != "not opened")
    terminalreporter.section("pages and engines")
    terminalreporter.line(" | ".join([f"{'':34}", *(f"{engine:{width}}" for engine in engines)]).rstrip())
    cases = list(dict.fromkeys(case for case, _ in rows))  # those of several processes come mixed
    for case, page in sorted(rows, key=lambda row: (cases.index(row[0]), row[1] != "how", row[1] == "not opened")):
        found = rows[case, page]
        if page == "not opened":  # said once, of all engines
            terminalreporter.line(f"{case:15} {page:18} | {next(iter(found.values()))[0]}")
        else:
            told = [f"{' / '.join(found.get(engine, ['-'])):{width}}" for engine in engines]
            terminalreporter.line(f"{case:15} {page:18} | {' | '.join(told)}".rstrip())
