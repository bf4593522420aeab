"""Figures of tilting and undercuts to check against; derived unless a source stands beside them."""

from __future__ import annotations

# Angles between settings, and a total, on a table whose slopes add (tangent form) and on one with
# nested axes. Derived; a rotation library agrees.
BETWEEN_TANGENT = (((10, 10), (11, 10), 0.986), ((5, -3), (6, -2), 1.413))
TOTAL_TANGENT_DEG, TOTAL_NESTED_DEG = 14.002, 14.106
# limit of both angles, and the most by which nested axes differ from inclinometer readings
NESTED_DIFFERS = ((5, 0.019), (10, 0.15), (15, 0.52))

# A sphere of 4 mm: depth 1.4 mm below the survey line by tilt. u = R(1 - cos(asin(h/R) + t)).
SPHERE_RADIUS_MM, SPHERE_DROP_MM = 4.0, 1.4
SPHERE_DEPTH_MM = (
    (-5, 0.145),
    (-2, 0.206),
    (0, 0.253),
    (1, 0.278),
    (2, 0.304),
    (5, 0.389),
    (10, 0.553),
)
# Drop to a depth on that sphere; a survey of a meshed sphere agrees to 0.0001 mm.
SPHERE_DROP_FOR_MM = ((0.25, 1.392), (0.50, 1.936), (0.75, 2.332))
# depth gained per degree at a drop of 2 mm, in mm
PER_DEGREE_AT_2_MM = 0.035
