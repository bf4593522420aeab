"""Figures of clasp arms to check against."""

from __future__ import annotations

# Cast Co-Cr, half round, 0.8 mm radius, 15 mm long, even, E 220 GPa, tip bent out by 0.25 mm.
# Source: theory of elastic beams, worked by hand.
PUSH_N, STRESS_MPA = 2.198, 337.7
PUSH_10_MM_N, STRESS_10_MM_MPA = 7.42, 760.0
RATIO_10_TO_15_MM = 3.375
SECOND_MOMENT_OVER_R4, FARTHEST_FIBRE_OVER_R = 0.1098, 0.5756

# Forces of like arms cast in Co-Cr and in pure titanium at three depths (mm, N, N).
# Source: Int J Prosthodont 2006;19:371-372.
PUBLISHED_N = ((0.25, 2.34, 1.24), (0.50, 4.65, 2.34), (0.75, 7.56, 3.70))
# Value from memory: E of pure titanium is half that of Co-Cr, about 110 GPa.
TITANIUM_E_GPA = 110.0
