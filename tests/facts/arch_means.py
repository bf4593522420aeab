"""Facts of the average dental arch."""

from __future__ import annotations

# Wheeler's mean mesiodistal crown widths in mm, central incisor to third molar. The upper central
# and lateral incisor were seen in a reprint of the tables; the rest are values from memory.
WHEELER_MESIODISTAL_MM = {
    "upper": (8.5, 6.5, 7.5, 7.0, 7.0, 10.0, 9.0, 8.5),
    "lower": (5.0, 5.5, 7.0, 7.0, 7.0, 11.0, 10.5, 10.0),
}

# Beta-function arch, Braun et al., Angle Orthod 1998;68:29-36 (constant from memory; that the
# curve's height at the midline is the arch depth confirms it). Width assumed, depth fitted.
BETA_MIDLINE_HEIGHT_MM = {"upper": 42.82, "lower": 42.11}
HALF_ARCH_1_TO_7_MM = {"upper": 55.5, "lower": 53.0}

# Centres of teeth 1 to 7 on the viewer's right in mm, computed from that curve and those widths by
# a separate numerical integration; tolerance 0.1 mm.
CENTRES_MM = {
    "upper": (
        (4.2, 42.2),
        (10.6, 38.4),
        (15.5, 33.4),
        (19.6, 27.4),
        (22.9, 21.3),
        (26.2, 13.5),
        (29.1, 4.4),
    ),
    "lower": (
        (2.5, 41.8),
        (7.2, 39.7),
        (11.8, 35.5),
        (16.0, 29.8),
        (19.3, 23.7),
        (22.8, 15.4),
        (26.0, 5.2),
    ),
}
