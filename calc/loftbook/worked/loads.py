"""What pulls at one cord and at all that is tied to it, and which part of that chain gives first. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import chain, opening
from loftbook.physics.chain import Part
from loftbook.rig.rig import Said
from loftbook.tables import ENDS
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord
from loftbook.worked.descent import OpeningLoad
from loftbook.worked.joint import Joint

SEAM = "stitched, zigzag"
SUDDEN = 2.0  # a load put on at once pulls at most twice as hard on a spring (mechanics)


@dataclass(frozen=True)
class Chain:
    """canopy: at its end, None where none hangs on it; joint: that ties it to the other side, None for a guest's cord.

    openings: each opening that pulls at the cord with the share of it that comes through; alone: it ties one part only.
    """

    said: Said
    canopy: Canopy | None
    cord: Cord
    joint: Joint | None
    openings: tuple[tuple[OpeningLoad, float], ...]
    before: tuple[OpeningLoad, ...]  # openings while a device holds another canopy shut
    held: bool  # this canopy, by a device
    alone: bool
    mass: float

    @cached_property
    def own(self) -> OpeningLoad | None:
        """Of the canopy at its end."""
        return next((load for load, _ in self.openings if self.canopy and load.canopy.key == self.canopy.key), None)

    @cached_property
    def opening_pull(self) -> float:
        """The largest opening load on the cord [N]."""
        return max((load.design * share for load, share in self.openings), default=0.0)

    @cached_property
    def jerk(self) -> float | None:
        """Force in the cord when it stops the two sides that a charge parts [N]; None where none does, or nothing parts."""
        if self.alone or not self.joint or not self.joint.charge.there:
            return None
        return self.jerk_at(self.cord.free, self.cord.stretch)

    def jerk_at(self, length: float, stretch: float) -> float:
        """The same for another length [m] and stretch at break of the cord."""
        assert self.joint
        return chain.cord_jerk(
            self.joint.parting_speed,
            self.joint.forward.mass,
            self.joint.aft.mass,
            self.cord.strength,
            stretch,
            length,
        )

    @cached_property
    def cord_pull(self) -> tuple[float, str]:
        """The largest load on the cord [N], and where it comes from."""
        return max((self.opening_pull, "opening"), (self.jerk or 0.0, "cord coming tight"))

    @cached_property
    def snatch(self) -> float | None:
        """Snatch force at line stretch, the packed canopy taken to stop dead in the air: the safe side [N]."""
        if not self.canopy or not self.own:
            return None
        one = self.canopy
        return opening.snatch_force(
            one.cloth_mass,
            self.own.speed,
            one.lines,
            one.line_strength,
            one.line_stretch,
            one.line_length,
        )

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
        lengths = [self.cord.free * (0.25 + 0.125 * i) for i in range(15)]
        return [(length, self.jerk_at(length, stretch)) for length in lengths]

    @cached_property
    def edge_load(self) -> float:
        """Force over width of cord at the mouth of the tube [N/m]."""
        return chain.edge_load(self.cord_pull[0], self.cord.width)

    @property
    def spans(self) -> bool:
        """Whether the lines of the canopy at its end reach from the inflated skirt to one point."""
        return self.canopy is None or self.canopy.inflated_most / 2 < self.canopy.line_length

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Every part that has a rating and a load, weakest first."""
        found = [*self._canopy_parts(), *self._cord_parts()]
        return chain.weakest_first(part for part in found if part.load > 0)

    def _canopy_parts(self) -> list[Part]:
        """Cloth, lines and what ties them to the cord."""
        if not self.canopy or not self.own:
            return []
        main, one, found = self.own.design, self.canopy, []
        load, cause = max((main, "opening"), (self.snatch or 0.0, "snatch"))
        if one.cloth_strength is not None:
            tension = chain.cloth_tension(main, one.inflated_least)
            name, seam = "cloth and its seams, a metre of width", ENDS[SEAM].efficiency.value
            found.append(Part(name, one.cloth_strength, seam, tension, "opening"))
        if self.spans:
            pulled = chain.line_load(load, one.lines, one.line_length, one.inflated_most / 2)
            found.append(Part("one line", one.line_strength, one.line_end, pulled, cause))
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
            pushed = max((load, cause), (self.joint.push, "pressure of the charge"))
            found.append(Part("bulkhead", self.said.number("cord.bulkhead"), 1.0, *pushed))
        return found

    def _nose_pull(self, joint: Joint) -> tuple[float, str]:
        """On the nose side: the jerk, or its share of an opening, put on at once."""
        share = min(1.0, SUDDEN * joint.forward.mass / self.mass)
        return max((self.opening_pull * share, "opening"), (self.jerk or 0.0, "cord coming tight"))

    def _device_pull(self) -> tuple[float, str]:
        """On the device while it holds: an earlier canopy's opening, or the whole jerk of the joint (the safe side)."""
        earlier = max((load.design for load in self.before), default=0.0)
        return max((earlier, "opening of the drogue"), (self.jerk or 0.0, "cord coming tight"))
