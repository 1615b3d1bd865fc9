"""What is checked of a canopy as it is made: declared here, said in making_words.py, which making.py imports late."""

from loftbook.answer import CheckKind

LIES_FLAT = CheckKind("cut-possible", "Can be cut so", ("make.cut", "canopy.family"))
ON_CLOTH = CheckKind("cloth-wide-enough", "Lies on the cloth", ("make.bolt", "make.cut", "canopy.size"))
SEAM_HOLDS = CheckKind("seam-holds", "Cloth and seams hold the opening", ("make.thread", "make.stitch", "make.seam", "canopy.cloth"))
RING_HOLDS = CheckKind("hole-edge-holds", "Edge of the hole holds the opening", ("make.tape_strength", "make.hem_width", "canopy.vent"))
LINE_HOLDS = CheckKind("line-ends-hold", "Lines are sewn on strongly enough", ("make.at_skirt", "make.thread", "lines.length"))
LOOP_LEFT = CheckKind("loop-at-link", "Line enough for a loop", ("make.at_link",))
WEIGHED = CheckKind("mass-as-made", "Mass in the rig", ("canopy.mass",))
MARKED = CheckKind("lines-marked-alike", "Lines are marked under a fair pull", ("make.tension",))
SIZES = CheckKind("sizes-sewable", "Can be sewn", ("make.stitch", "make.seam_width", "make.hem_width", "canopy.vent"))
