"""One rig worked through, part by part: sky, airframe, canopy, bundle, bay, cord, joint, descent, loads."""
