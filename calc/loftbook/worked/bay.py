"""A bay and what is packed in it, bottom to top: each canopy's bundle in the room that all else leaves. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import packing
from loftbook.physics.packing import Item, Stack
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import CHARGE_ABOVE
from loftbook.rig.rig import Said
from loftbook.worked.bundle import Folded
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord

FIRST_CORD, REST_CORD, WHOLE_CORD = "cord, first part", "cord, the rest", "cord"
NYLON = 1140.0  # kg/m^3, solid nylon 6/6 (Tension Technology International, fibre property table)


@dataclass(frozen=True)
class Tenant:
    """A canopy in a bay with its cord; device: height that a device takes which holds it shut [m], 0 without one."""

    canopy: Canopy
    cord: Cord
    device: float = 0.0


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

    # --- what lies in it ---

    @property
    def _protector(self) -> Item:
        return Item("protector", self.said.text("pack.protector"), self.protector)

    def loose(self, bulk: float) -> float:
        """Height [m] that loose cord or line of a volume [m^3] takes."""
        return packing.loose_height(bulk, self.section, self.said.number("pack.fill"))

    def _around(self, tenant: Tenant) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
        """What lies right below and right above a tenant's bundle."""
        owner, below = tenant.canopy.key, tenant.canopy.said.number("pack.below")
        cord = self.loose(tenant.cord.bulk)
        first, rest = (
            Item("cord", FIRST_CORD, cord * below, owner),
            Item("cord", REST_CORD, cord * (1 - below), owner),
        )
        device = (Item("device", "release device", tenant.device, owner),) if tenant.device else ()
        return (first,), (*device, Item("lines", "lines", self.loose(tenant.canopy.line_bulk), owner), rest)

    @cached_property
    def others(self) -> tuple[Item, ...]:
        """Everything but the bundles, in no order."""
        around = [item for tenant in self.tenants for side in self._around(tenant) for item in side]
        if not self.tenants:
            around.append(Item("cord", WHOLE_CORD, self.loose(self.cord.bulk), self.said.key))
        return (*around, self._protector, Item("shoulder", "shoulder", self.shoulder))

    @property
    def left_for_bundles(self) -> float:
        """Bay depth less all other items [m]; negative when they alone are too much."""
        return self.depth - sum(item.height for item in self.others)

    @cached_property
    def folded(self) -> dict[str, Folded]:
        """Each canopy folded for its room: a guest gets the share of its bulk, the bay's own the rest."""
        bulks = {t.canopy.key: t.canopy.cloth_mass / t.canopy.said.number("pack.density") for t in self.tenants}
        left, made = self.left_for_bundles, {}
        for tenant in self.tenants[1:]:
            key = tenant.canopy.key
            made[key] = Folded(tenant.canopy, self.clear_tube, self.left_for_bundles * bulks[key] / sum(bulks.values()))
            left -= made[key].bundle.length
        for tenant in self.tenants[:1]:
            made[tenant.canopy.key] = Folded(tenant.canopy, self.clear_tube, left)
        return made

    @cached_property
    def stack(self) -> Stack:
        """Everything as it lies, bottom to top; the protector on the charge's side."""
        items: list[Item] = [] if self.charge_above else [self._protector]
        if not self.tenants:
            items.append(Item("cord", WHOLE_CORD, self.loose(self.cord.bulk), self.said.key))
        for tenant in self.tenants:
            below, above = self._around(tenant)
            bundle = self.folded[tenant.canopy.key].bundle
            items += [*below, Item("bundle", f"{tenant.canopy.name} bundle", bundle.length, tenant.canopy.key), *above]
        items += [self._protector] if self.charge_above else []
        return packing.stack((*items, Item("shoulder", "shoulder", self.shoulder)), self.depth)

    def above(self, canopy: str) -> float:
        """Height of everything between a canopy's bundle and the mouth [m]: how deep its top must lie at least."""
        layers = self.stack.layers
        at = next(i for i, one in enumerate(layers) if one.item.kind == "bundle" and one.item.owner == canopy)
        return sum(one.item.height for one in layers[at + 1 :])

    def below(self, canopy: str) -> float:
        """Height of everything under a canopy's bundle [m]."""
        return next(
            one.bottom for one in self.stack.layers if one.item.kind == "bundle" and one.item.owner == canopy
        )

    # --- air ---

    @cached_property
    def free_volume(self) -> Spread:
        """Air in the packed bay [m^3]: with all bulk taken off as it lies; half of it; only its solid matter taken off."""
        bay = self.section * (self.depth - self.shoulder)
        canopies = [tenant.canopy for tenant in self.tenants]
        cords = [tenant.cord.bulk for tenant in self.tenants] or [self.cord.bulk]
        solid = sum(canopy.mass for canopy in canopies) / NYLON + sum(cords) / 2
        bundles = sum(self.folded[canopy.key].volume for canopy in canopies)
        devices = self.section * sum(tenant.device for tenant in self.tenants)
        lines = sum(canopy.line_bulk for canopy in canopies)
        least = bay - sum(cords) - lines - bundles - devices - self.section * self.protector
        most = bay - solid
        least = min(max(least, 0.1 * bay), most)
        return Spread(least, (least + most) / 2, most)
