"""Loftbook: recovery of amateur rockets, computed once for page, terminal and test."""

VERSION = "0.1.0"

from loftbook.plan import Plan, plan  # noqa: E402  (the version is needed by modules below)
from loftbook.rig.parsing import parse  # noqa: E402
from loftbook.rig.rig import Rig  # noqa: E402

__all__ = ["VERSION", "Plan", "Rig", "parse", "plan"]
