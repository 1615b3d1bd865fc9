"""What pulls at one cord and at all that is tied to it, and which part of that chain gives first. SI."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import chain
from loftbook.physics.chain import Part
from loftbook.rig.bay_fields import NOSE_ALONG, TWO_SECTIONS
from loftbook.rig.rig import Said
from loftbook.tables import ENDS
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord
from loftbook.worked.descent import OpeningLoad
from loftbook.worked.joint import Joint

SEAM = "stitched, zigzag"
STIFF = 0.035  # stretch at break of aramid or polyethylene fibre, for the comparison (fibre texts; memory)
SUDDEN = 2.0  # a load put on at once pulls at most twice as hard on a spring (mechanics)


def snatch(one: Canopy, load: OpeningLoad, cord: Cord, whole: float, fore: float) -> float:
    """Force when the lines come tight [N], the packed canopy taken to stop dead in the air: the safe side.

    Lines and cord stretch one behind the other, and never more moves than the packed canopy, so F = v sqrt(k mu) with mu of
    canopy and load (mechanics, as in `chain`). whole: mass that hangs there; fore: of the forward part, tied in by a leg of
    its own [kg]. Two legs pull beside each other; a nose where the lines meet comes along with the canopy.
    """
    lines = one.lines * chain.cord_stiffness(one.line_strength, one.line_stretch, one.line_length)

    def pull(mass: float, *lengths: float) -> float:
        legs = [chain.cord_stiffness(cord.strength, cord.stretch, length) for length in lengths if length > 0]
        stiffness = chain.in_series(lines, sum(legs)) if len(legs) == len(lengths) else lines
        return chain.stopping_force(load.speed, stiffness, chain.reduced_mass(one.cloth_mass, mass))

    if cord.layout == TWO_SECTIONS:
        return pull(whole, cord.length, cord.gap)
    return max(pull(whole, cord.length), pull(fore, cord.gap) if cord.layout == NOSE_ALONG else 0.0)


@dataclass(frozen=True)
class Chain:
    """canopy: at its end, None where none hangs on it; joint: that ties it to the other side, None for a guest's cord.

    openings: each opening that pulls at the cord with the share of it that comes through; snatches: of each canopy when its
    lines come tight [N]; alone: it ties one part only.
    """

    said: Said
    canopy: Canopy | None
    cord: Cord
    joint: Joint | None
    openings: tuple[tuple[OpeningLoad, float], ...]
    snatches: Mapping[str, float]
    before: tuple[OpeningLoad, ...]  # openings while a device holds another canopy shut
    held: bool  # this canopy, by a device
    alone: bool
    mass: float
    sewn: tuple[Part, ...] = ()  # seams and lines' ends of a canopy that its reader sews

    @cached_property
    def own(self) -> OpeningLoad | None:
        """Of the canopy at its end."""
        return next((load for load, _ in self.openings if self.canopy and load.canopy.key == self.canopy.key), None)

    @cached_property
    def opening_pull(self) -> float:
        """The largest opening load on the cord [N]."""
        return max((load.design * share for load, share in self.openings), default=0.0)

    @cached_property
    def snatch_pull(self) -> float:
        """The largest snatch on the cord [N]."""
        return max((self.snatches[load.canopy.key] * share for load, share in self.openings), default=0.0)

    @property
    def jerk(self) -> float | None:
        """Force in the cord when it stops the two sides that a charge parts [N]; None where none does, or nothing parts."""
        return None if self.alone or not self.joint else self.joint.jerk

    @cached_property
    def canopy_pull(self) -> tuple[float, str]:
        """The largest load on the cord from a canopy [N], and where it comes from."""
        return max((self.opening_pull, "opening"), (self.snatch_pull, "snatch"))

    @property
    def tight(self) -> tuple[float, str]:
        """The jerk [N], and what the pressure behind it is that of."""
        cause = self.joint.greatest[1] if self.joint else ""
        return self.jerk or 0.0, f"cord coming tight: {cause}"

    @cached_property
    def cord_pull(self) -> tuple[float, str]:
        """The largest load on the cord [N], and where it comes from."""
        return max(self.canopy_pull, self.tight)

    @property
    def snatch(self) -> float | None:
        """Snatch force of its own canopy at line stretch [N]."""
        return self.snatches[self.canopy.key] if self.canopy and self.own else None

    @property
    def parting_speed(self) -> float | None:
        """At which the charge of its joint throws both sides apart, an estimate [m/s]; None without one."""
        return self.joint.parting_speed if self.joint and self.joint.charge.there else None

    @property
    def free_energy(self) -> float:
        """Energy the cord takes until it breaks [J], from anchor to line attachment."""
        return chain.cord_energy(self.cord.strength, self.cord.stretch, self.cord.length)

    @property
    def reduced_mass(self) -> float | None:
        """Of the two sides that it stops [kg]; None where it ties one part only."""
        if self.alone or not self.joint:
            return None
        return chain.reduced_mass(self.joint.forward.mass, self.joint.aft.mass)

    def jerk_over_length(self, stretch: float) -> list[tuple[float, float]]:
        """Jerk [N] by length of cord [m], from a quarter to twice its own, for a stretch at break (share)."""
        assert self.joint
        lengths = [self.cord.free * (0.25 + 0.125 * i) for i in range(15)]
        return [(length, self.joint.jerk_at(length, stretch)) for length in lengths]

    @cached_property
    def edge_load(self) -> float:
        """Force over width of cord at the mouth of the tube [N/m]."""
        return chain.edge_load(self.cord_pull[0], self.cord.width)

    @property
    def spans(self) -> bool:
        """Whether the lines of the canopy at its end reach from the inflated skirt to one point."""
        return self.canopy is None or self.canopy.inflated_most / 2 < self.canopy.line_length

    @cached_property
    def along(self) -> tuple[Part, ...]:
        """Every part that has a rating and a load, from the cloth to the bulkhead."""
        return tuple(part for part in (*self._canopy_parts(), *self._cord_parts()) if part.load > 0)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The same, weakest first."""
        return chain.weakest_first(self.along)

    def _canopy_parts(self) -> list[Part]:
        """Cloth, lines and what ties them to the cord."""
        if not self.canopy or not self.own:
            return []
        main, one, found = self.own.design, self.canopy, []
        load, cause = max((main, "opening"), (self.snatch or 0.0, "snatch"))
        if one.cloth_strength is not None:
            tension = chain.cloth_tension(main, one.pulled_edge)
            name, seam = "cloth and its seams, a metre of width", ENDS[SEAM].efficiency.value
            found.append(Part(name, one.cloth_strength, seam, tension, "opening"))
        if self.spans:
            pulled = chain.line_load(load, one.lines, one.line_length, one.inflated_most / 2)
            found.append(Part("one line", one.line_strength, one.line_end, pulled, cause))
        found += self.sewn
        found.append(Part("link", self.said.number("cord.link"), 1.0, load, cause))
        swivel = self.said.optional("cord.swivel")
        if swivel is not None:
            found.append(Part("swivel", swivel, 1.0, load, cause))
        return found

    def _cord_parts(self) -> list[Part]:
        """The cord, what it is tied to at both ends, and the bulkhead that the charge pushes on."""
        load, cause = self.cord_pull
        found = [
            Part("cord", self.cord.strength, self.cord.end, load, cause),
            Part("anchor in the airframe", self.said.number("cord.anchor"), 1.0, load, cause),
        ]
        if self.joint and not self.alone:
            nose = self._nose_pull(self.joint)
            found.append(Part("anchor on the nose side", self.said.number("cord.nose_anchor"), 1.0, *nose))
        if self.held:
            found.append(Part("release device", self.said.number("cord.device"), 1.0, *self._device_pull()))
        if self.joint:
            pushed = max((load, cause), (self.joint.push, self.joint.greatest[1]))
            found.append(Part("bulkhead", self.said.number("cord.bulkhead"), 1.0, *pushed))
        return found

    def _nose_pull(self, joint: Joint) -> tuple[float, str]:
        """On the nose side: the jerk, or its share of what a canopy pulls, put on at once."""
        share = min(1.0, SUDDEN * joint.forward.mass / self.mass)
        pulled, cause = self.canopy_pull
        return max((pulled * share, cause), self.tight)

    def _device_pull(self) -> tuple[float, str]:
        """On the device while it holds: what an earlier canopy pulls, or the whole jerk of the joint (the safe side)."""
        earlier = max((max(load.design, self.snatches[load.canopy.key]) for load in self.before), default=0.0)
        return max((earlier, "opening of the drogue"), self.tight)
