"""A bay and what is packed in it, bottom to top: each canopy's bundle in the room that all else leaves. SI."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from loftbook.physics import packing
from loftbook.physics.packing import Item, Lying, Stack
from loftbook.physics.spread import Spread
from loftbook.quantity import LENGTH, Kind, at_least, at_most, read, show
from loftbook.rig.bay_fields import CHARGE_ABOVE
from loftbook.rig.fields import FIELDS
from loftbook.rig.rig import Said
from loftbook.tables import known
from loftbook.worked.bundle import Folded, Laid
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord

FIRST_CORD, REST_CORD, WHOLE_CORD = "cord, first part", "cord, the rest", "cord"
NYLON = 1140.0  # kg/m^3, solid nylon 6/6 (Tension Technology International, fibre property table)
_HAIR = 1e-9  # m, by which what just fits is to fit, that no last digit decides
_MOST_TRIES, _WIDER = 20, 1.06


def depth_for(filled: float) -> float:
    """Depth of a bay in which so much height [m] lies and enough stays empty, as is our choice [m]."""
    return packing.deep_enough(filled, known("spare").number("share"), known("spare").low)


@dataclass(frozen=True)
class Tenant:
    """A canopy in a bay with its cord; device: height that a device takes which holds it shut [m], 0 without one."""

    canopy: Canopy
    cord: Cord
    device: float = 0.0

    @property
    def held(self) -> bool:
        """Whether a device holds it shut."""
        return self.canopy.key in self.canopy.said.rig.way.held

    @property
    def first_cord(self) -> float:
        """Cord that is stowed under its bundle [m]."""
        return self.cord.stowed * self.canopy.said.number("pack.below")

    @property
    def rest_cord(self) -> float:
        """Cord that is stowed above it [m]."""
        return self.cord.stowed * (1 - self.canopy.said.number("pack.below"))


@dataclass(frozen=True)
class Bay:
    """tenants: the canopies packed in it, deepest first; cord: its own, which is there without a canopy, too."""

    said: Said
    tenants: tuple[Tenant, ...]
    cord: Cord

    @property
    def tube(self) -> float:
        """Inner diameter [m]."""
        return self.said.number("bay.tube")

    @property
    def depth(self) -> float:
        """[m]."""
        return self.said.number("bay.depth")

    @property
    def shoulder(self) -> float:
        """[m]."""
        return self.said.number("bay.shoulder")

    @property
    def shoulder_over_tube(self) -> float:
        """Length of the shoulder over the tube's diameter (dimensionless)."""
        return self.shoulder / self.tube

    @property
    def beside(self) -> float:
        """Diameter of what stands in the bay beside the canopy [m], 0 for nothing."""
        return self.said.optional("pack.beside") or 0.0

    @property
    def clear_tube(self) -> float:
        """Diameter of the round room the bundle has [m]: the tube, or what a post beside it leaves."""
        return self.tube - self.beside

    @property
    def section(self) -> float:
        """Free section of the bay [m^2]."""
        return packing.free_section(self.tube, self.beside)

    @property
    def charge_above(self) -> bool:
        return self.said.text("pack.layout") == CHARGE_ABOVE

    @property
    def protector(self) -> float:
        """Height that the protector takes [m]."""
        return self.said.number("pack.protector_depth")

    @property
    def fill(self) -> float:
        """Share of the section that loose cord and lines really fill."""
        return self.said.number("pack.fill")

    def loose(self, bulk: float) -> float:
        """Height [m] that loose cord or line of a volume [m^3] takes."""
        return packing.loose_height(bulk, self.section, self.fill)

    @property
    def cords(self) -> tuple[Cord, ...]:
        """All cords stowed in it, the lowest first."""
        return tuple(tenant.cord for tenant in self.tenants) or (self.cord,)

    @property
    def to_stay_empty(self) -> float:
        """How much of its depth is to stay empty [m]."""
        return packing.to_stay_empty(self.depth, known("spare").number("share"), known("spare").low)

    # --- its canopies, folded ---

    @cached_property
    def laid(self) -> dict[str, Laid]:
        """Each canopy as it is to be folded, deepest first."""
        return {tenant.canopy.key: Laid(tenant.canopy, self.clear_tube) for tenant in self.tenants}

    @cached_property
    def taken(self) -> float:
        """Height of everything but the bundles [m]."""
        bulk = sum(cord.bulk for cord in self.cords) + sum(one.canopy.line_bulk for one in self.tenants)
        devices = sum(tenant.device for tenant in self.tenants)
        return self.shoulder + self.protector + devices + self.loose(bulk)

    @property
    def left_for_bundles(self) -> float:
        """Bay depth less all other items [m]; negative when they alone are too much."""
        return self.depth - self.taken

    def _room(self, canopy: str, left: float, scale: float = 1.0) -> float:
        """Length for a canopy `scale` times as wide where `left` is left for all bundles [m], negative if none.

        A guest gets the share of its bulk, less where the bay's own canopy needs more than that leaves, but at least
        what its shortest bundle takes; the bay's own gets what the guests' bundles leave.
        """
        own, *guests = self.laid
        if not guests:
            return left
        scales = {key: scale if key == canopy else 1.0 for key in self.laid}
        bulks = {key: one.volume(scales[key]) for key, one in self.laid.items()}
        free = left - self._shortest(own, scales[own])
        taken = 0.0
        for guest in guests:
            fair = left * bulks[guest] / sum(bulks.values())
            spared = free * bulks[guest] / sum(bulks[one] for one in guests)
            room = min(left, max(self._shortest(guest, scales[guest]) + _HAIR, min(fair, spared)))
            if guest == canopy:
                return room
            taken += self.laid[guest].bundle(max(0.0, room), scales[guest]).length
        return left - taken

    def _shortest(self, canopy: str, scale: float = 1.0) -> float:
        """Length of the shortest bundle that the tube lets through [m], 0 where it lets none."""
        return self.laid[canopy].bundle(0.0, scale).needs_room or 0.0

    def _folded_in(self, left: float) -> dict[str, Folded]:
        """Each canopy folded where so much is left for all bundles [m]; of what more there is each is told."""
        made: dict[str, Folded] = {}
        guests = 0.0
        for key, one in reversed(self.laid.items()):  # the bay's own last: it gets what the guests leave
            room = self.left_for_bundles - guests if len(made) == len(self.laid) - 1 else self._room(key, self.left_for_bundles)
            made[key] = Folded(one, room, self._room(key, left))
            guests += made[key].bundle.length
        return {key: made[key] for key in self.laid}

    @cached_property
    def folded(self) -> dict[str, Folded]:
        """Each canopy folded for its room, deepest first: so that enough stays empty, or else for all there is."""
        roomy = self._folded_in(self.left_for_bundles - self.to_stay_empty + _HAIR)
        if all(one.bundle.fits for one in roomy.values()):
            return roomy
        return self._folded_in(self.left_for_bundles)

    @property
    def roomy(self) -> bool:
        """Whether as much stays empty as is to."""
        return self.stack.spare >= self.to_stay_empty - 2 * _HAIR

    # --- what would make it fit: each as it is written, rounded away from what would not do ---

    def deep_enough(self, canopy: str = "") -> float | None:
        """Depth of a bay in which a bundle fits, and enough stays empty [m]; None where no depth does."""
        needs = [self.laid[key].bundle(0.0).needs_room for key in self.laid if not canopy or key == canopy]
        if None in needs:
            return None
        filled = self.taken + sum(self._shortest(key) for key in self.laid)
        least = depth_for(filled) + _HAIR
        return self._enough(canopy, "bay.depth", least)

    def deepened(self) -> "Bay":
        """The same, as deep as lets all go in with room: itself where it is so, or where no depth does."""
        if self._holds(""):
            return self
        deep = self.deep_enough()
        return self if deep is None else self._changed({"bay.depth": deep})

    def wide_enough(self, canopy: str) -> float | None:
        """Inner diameter of a tube that would do with the depth as it is [m]; None where that is no way out."""
        wanted = self.folded[canopy].bundle.needs_tube
        if wanted is None:  # nothing is short enough while cord and lines stand so high
            return self._enough(canopy, "bay.tube", _WIDER * self.tube, _WIDER)
        return self._enough(canopy, "bay.tube", max(wanted + self.beside, self.tube) + _HAIR)

    def _enough(self, canopy: str, path: str, least: float, growth: float = 1.02) -> float | None:
        """A value from the least on with which, and a little beyond which, all is well; guests may ask for more."""
        for _ in range(_MOST_TRIES):
            tried = self._as_written(least, at_least(LENGTH))
            if tried > FIELDS[f"{self.said.key}.{path}"].high:
                return None
            if all(self._changed({path: tried * more})._holds(canopy) for more in (1.0, 1.01)):
                return tried
            least *= growth
        return None

    def _holds(self, canopy: str) -> bool:
        """Whether that bundle fits, or all of them, and enough stays empty."""
        wanted = [self.folded[canopy]] if canopy else self.folded.values()
        return self.roomy and all(one.bundle.fits for one in wanted)

    def _as_written(self, value: float, kind: Kind) -> float:
        """A length [m] as its reader sees it."""
        return read(show(value, kind, self.said.rig.units), LENGTH)

    def small_enough(self, canopy: str) -> float | None:
        """Largest size [m] of the family that fits, as its reader measures it, in steps of 2 %; None when not even a tenth."""
        one = self.folded[canopy].canopy
        if not one.shape or self.left_for_bundles <= 0:
            return None
        size, field = one.said.number("canopy.size"), FIELDS[f"{canopy}.canopy.size"]
        for step in range(1, 46):
            scale = 1 - step / 50
            room = max(0.0, self._room(canopy, self.left_for_bundles, scale))
            if not self.laid[canopy].bundle(room, scale).fits:
                continue
            tried = self._as_written(size * scale, at_most(LENGTH))
            if tried < field.low:
                return None
            if self._holds_sized(canopy, tried):
                return tried
        return None

    def _holds_sized(self, canopy: str, size: float) -> bool:
        """Whether all is well with a canopy of another size [m], and with one a little smaller."""
        return all(self._resized(canopy, size * less)._holds(canopy) for less in (1.0, 0.99))

    def _changed(self, values: Mapping[str, float]) -> "Bay":
        """The same with other values of its own fields, by their paths within it [SI]."""
        return replace(self, said=_supposed(self.said, values))

    def _resized(self, canopy: str, size: float) -> "Bay":
        """The same with a canopy of another size [m] in it."""
        tenants = (
            replace(one, canopy=replace(one.canopy, said=_supposed(one.canopy.said, {"canopy.size": size})))
            if one.canopy.key == canopy
            else one
            for one in self.tenants
        )
        return replace(self, tenants=tuple(tenants))

    # --- what lies in it ---

    def _of(self, tenant: Tenant) -> tuple[Item, ...]:
        """What belongs to a tenant, bottom to top."""
        owner, below = tenant.canopy.key, tenant.canopy.said.number("pack.below")
        cord, lines = self.loose(tenant.cord.bulk), self.loose(tenant.canopy.line_bulk)
        bundle = self.folded[owner].bundle
        device = (Item("device", "release device", tenant.device, owner),) if tenant.held else ()
        return (
            Item("cord", FIRST_CORD, cord * below, owner),
            Item("bundle", f"{tenant.canopy.name} bundle", bundle.length, owner, bundle.width),
            *device,
            Item("lines", "lines", lines, owner),
            Item("cord", REST_CORD, cord * (1 - below), owner),
        )

    @cached_property
    def stack(self) -> Stack:
        """Everything as it lies, bottom to top; the protector on the charge's side."""
        items = [item for tenant in self.tenants for item in self._of(tenant)]
        if not self.tenants:
            items.append(Item("cord", WHOLE_CORD, self.loose(self.cord.bulk), self.said.key))
        protector = Item("protector", self.said.text("pack.protector"), self.protector)
        items = [*items, protector] if self.charge_above else [protector, *items]
        return packing.stack((*items, Item("shoulder", "shoulder", self.shoulder)), self.depth)

    def below_mouth(self, lying: Lying) -> float:
        """How deep the top of a thing lies below the mouth [m], 0 where it stands out."""
        return max(0.0, self.depth - lying.top)

    def cord_in(self, item: Item) -> float:
        """Length of cord [m] that lies there as one thing."""
        tenant = next((one for one in self.tenants if one.canopy.key == item.owner), None)
        if not tenant:
            return self.cord.stowed
        return tenant.first_cord if item.name == FIRST_CORD else tenant.rest_cord

    def bundle_of(self, canopy: str) -> Lying:
        """A canopy's bundle as it lies."""
        return next(one for one in self.stack.layers if one.item.kind == "bundle" and one.item.owner == canopy)

    def over(self, canopy: str) -> tuple[Item, ...]:
        """Everything between a canopy's bundle and the mouth, bottom to top."""
        layers = self.stack.layers
        return tuple(one.item for one in layers[layers.index(self.bundle_of(canopy)) + 1 :])

    def above(self, canopy: str) -> float:
        """Height of all that [m]: how deep the bundle's top must lie at least."""
        return sum(item.height for item in self.over(canopy))

    def below(self, canopy: str) -> float:
        """Height of everything under a canopy's bundle [m]."""
        return self.bundle_of(canopy).bottom

    # --- air ---

    @cached_property
    def free_volume(self) -> Spread:
        """Air in the packed bay [m^3]: with all bulk taken off as it lies; half of it; only its solid matter taken off."""
        bay = self.section * (self.depth - self.shoulder)
        canopies = [tenant.canopy for tenant in self.tenants]
        cords = sum(cord.bulk for cord in self.cords)
        solid = sum(canopy.mass for canopy in canopies) / NYLON + cords / 2
        bundles = sum(one.volume for one in self.folded.values())
        devices = self.section * sum(tenant.device for tenant in self.tenants)
        lines = sum(canopy.line_bulk for canopy in canopies)
        least = bay - cords - lines - bundles - devices - self.section * self.protector
        most = bay - solid
        least = min(max(least, 0.1 * bay), most)
        return Spread(least, (least + most) / 2, most)


def _supposed(said: Said, values: Mapping[str, float]) -> Said:
    """The same with other values [SI] of some fields, by their paths within it: what would be if."""
    changed = {f"{said.key}.{path}": value for path, value in values.items()}
    return Said(replace(said.rig, values={**said.rig.values, **changed}), said.key)
