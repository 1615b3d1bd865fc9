"""What is kept by name: the newest counts, a part goes along with all that is its own and nothing of the bay it lay in."""

from loftbook.faces import logbook
from loftbook.log.entries import Entry
from loftbook.log.shelf import fitted, shelf
from loftbook.rig.parsing import completed, parse
from loftbook.worked.worked import Worked

OLD = {
    "rig.name": "Stint", "main.canopy.name": "Old  orange", "main.canopy.size": "1.4 m", "main.canopy.cd_measured_low": "0.8", "main.canopy.cd_measured_high": "0.9",
    "main.lines.length": "1.5 m", "main.pack.density": "0.2 g/cm3", "main.pack.protector": "none", "main.cord.name": "blue", "main.cord.length": "7 m", "main.cord.anchor": "3 kN",
    "rig.measured": "main.canopy.cd_measured_low main.canopy.cd_measured_high main.cord.anchor",
}  # fmt: skip


def kept(day: int = 1, fields: dict[str, str] | None = None) -> Entry:
    fields = fields or OLD
    return Entry(f"2026-05-{day:02}T10:00:00.000Z", "kept", f"2026-05-{day:02}", fields["rig.name"], fields=fields)


def test_each_name_stands_there_once_as_it_was_kept_last() -> None:
    newer = OLD | {"rig.name": " stint", "main.canopy.name": "old Orange", "main.canopy.size": "1.5 m"}
    rows = shelf([kept(1), kept(2, newer)])
    assert [(one.what, one.name) for one in rows] == [("rocket", " stint"), ("canopy", "old Orange"), ("cord", "blue")]
    assert all(one.entry.day == "2026-05-02" for one in rows)


def test_a_canopy_goes_along_with_its_lines_its_density_and_what_was_measured_of_it() -> None:
    now = completed({"rig.name": "Sanderling", "flight.way": "drogue, then main from a second bay"})
    (_, canopy, _) = shelf([kept()])
    texts = fitted(canopy, now, "drogue")
    assert (texts["drogue.canopy.size"], texts["drogue.lines.length"], texts["drogue.pack.density"]) == ("1.4 m", "1.5 m", "0.2 g/cm3")
    assert texts["rig.measured"].split() == ["drogue.canopy.cd_measured_low", "drogue.canopy.cd_measured_high"]
    assert not [path for path in texts if path.startswith(("drogue.cord", "drogue.bay", "drogue.joint", "main.")) or path == "drogue.pack.protector"]
    full = completed(OLD)
    fit = completed(now | texts)
    assert all(fit[f"drogue.{path}"] == full[f"main.{path}"] for path in ("canopy.family", "canopy.sides", "canopy.cloth", "canopy.mass", "lines.material", "lines.rating"))


def test_a_cord_goes_along_without_what_it_was_tied_to() -> None:
    cord = shelf([kept()])[2]
    texts = fitted(cord, completed({}), "main")
    assert texts["main.cord.length"] == "7 m"
    assert not [path for path in texts if "anchor" in path or not path.startswith("main.cord.")]


def test_a_part_fitted_into_a_rig_makes_a_rig_that_can_be_worked() -> None:
    for start in ("main", "drogue"):
        for one in shelf([kept()])[1:]:
            parse(dict(fitted(one, completed({}), start)))


def test_the_page_offers_each_place_that_this_rig_has() -> None:
    html = "".join(map(str, logbook.on_shelf(Worked(parse({})), [kept()])))
    assert html.count("data-take") == 4
    assert html.count("data-rocket") == 1
    assert "Old  orange: 1.4 m" in html
