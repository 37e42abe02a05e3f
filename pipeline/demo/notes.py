"""What stands in a service note, in invented words."""

NOTES: dict[str, tuple[str, ...]] = {
    "dropped_leaf": (
        "leaf catching the track, has to be lifted to lock", "end leaf sits low at the handle side",
        "traffic leaf dropped, toe and heel redone", "door drags on closing side",
    ),
    "lock_misaligned": (
        "key stiff, have to push the door to lock it", "hooks not meeting the keeps, keeps moved",
        "handle will not lift fully", "lock fine when the sun is off it",
    ),
    "water_ingress": (
        "water on the floor after the storm at the weekend", "puddle by the left corner, sill resealed",
        "damp patch inside under the track", "leaks when it rains from the south west",
    ),
    "stiff_running": (
        "leaves heavy to push, jerky in the middle", "runs stiff, track cleaned and levelled as far as it goes",
        "needs two hands to fold", "customer cannot move the doors alone",
    ),
    "draught": (
        "cold air at the meeting stile", "can feel a breeze at the handle side, cams turned",
        "curtain moves when closed",
    ),
    "binding": ("sticks in the afternoon sun", "leaf rubs at the head", "catches halfway, eased", "scrapes the jamb"),
    "loose_frame": ("right jamb moves when shut", "frame springs, two fixings added", "jamb loose at the top"),
    "roller_damage": ("clunks when folding, roller worn", "came off the track", "bottom roller broken, replaced"),
    "uneven_gaps": ("gap at the top wider on one side", "can see daylight at the corner", "gaps not equal"),
    "hinge_fault": ("hinge squeaks and is loose", "hinge screws pulled, packers reset", "hinge pin rising"),
    "blocked_drainage": ("water stands in the track", "drain slots full of mortar, cleared"),
    "sealant_fault": ("mastic split down the left side", "sealant came away from the brick"),
    "surface_damage": ("scratch on the outside of leaf two", "paint chipped near the handle"),
    "handle_fault": ("handle floppy", "handle screws loose, tightened"),
    "failed_unit": ("mist between the panes", "unit steamed up inside"),
    "seal_fault": ("rubber hanging out at the bottom", "gasket missing by the hinge"),
    "lock_failed": ("key turns and nothing happens, gearbox replaced", "cylinder jammed"),
    "user_damage": ("mower stone hit the lower pane", "builder dropped a board on the sill"),
    "dirty_track": ("track full of grit", "gravel in the track, shown how to clean it"),
    "broken_glass": ("outer pane cracked from corner to corner",),
    "no_fault": ("nothing found, handle shown again", "customer wanted a demonstration", "other firm's window"),
    "incomplete_work": ("trim missing on the left", "cover not fitted yet"),
}  # fmt: skip
