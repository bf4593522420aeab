"""Figures for tripods and re-mounting, derived by statistics and geometry (no published source).

SD of the angle from the SD of a height reading; a Monte Carlo of 200,000 draws agrees. The re-mount
was computed with a rotation library to be exact.
"""

from __future__ import annotations

ISOSCELES = {"b_mm": 30.0, "w_mm": 40.0, "sigma_mm": 0.1, "sd_ap_deg": 0.234, "sd_lat_deg": 0.203}
# side in mm, SD of a reading in mm, SD on each axis and 95 % of the total in degrees (the total is
# from draws: good to 0.002)
EQUILATERAL = ((40.0, 0.2, 0.405, 0.991), (25.0, 0.2, 0.648, 1.585))
# sides in mm and the SD on the weak axis at 0.2 mm
FLAT = ((50.0, 26.0, 26.0), 0.2, 1.97)

# marks in front, right of view, left of view; off by front, right of view, total
REMOUNT_MARKS_MM = ((0.0, 22.0), (23.0, -14.0), (-23.0, -14.0))
REMOUNT_HEIGHTS_MM = (0.0, 1.2, 0.4)
REMOUNT_OFF_DEG = (1.2733443614, -0.9964985767, 1.6170165022)
# side in mm, heights in mm, total in degrees
REMOUNT_EQUILATERAL = (40.0, (0.2, 0.0, 0.0), 0.330799)
# side of an equilateral triangle in mm that holds 1 degree (95 %) at a reading SD of 0.2 mm
SIDE_FOR_ONE_DEGREE_MM = 39.7
