"""Which letters of retentive surfaces (B buccal, L lingual) balance, and what pushes sum to.

Source of the rule: bilateral opposition as taught in removable prosthodontics textbooks (Carr &
Brown, McCracken's Removable Partial Prosthodontics). That a mixed side may face a one-letter side,
and that all-buccal against all-lingual is the one thing to avoid: common practice, no source.
"""

from __future__ import annotations

# right letters, left letters, balanced
CELLS: tuple[tuple[str, str, bool], ...] = (
    ("B", "B", True),
    ("B", "L", False),
    ("B", "BL", True),
    ("B", "", False),
    ("L", "B", False),
    ("L", "L", True),
    ("L", "BL", True),
    ("L", "", False),
    ("BL", "B", True),
    ("BL", "L", True),
    ("BL", "BL", True),
    ("BL", "", False),
    ("", "B", False),
    ("", "L", False),
    ("", "BL", False),
    ("", "", False),
)

# Tips as position and letter on the right, on the left, and the least and most share of the pushes
# across the arch that is left over. Statics (no source needed), worked over several parabolic
# upper arches; figures good to two decimals.
SHARES_LEFT: tuple[tuple[tuple[str, ...], tuple[str, ...], float, float], ...] = (
    (("4B",), ("4B",), 0.0, 0.0),
    (("4B",), ("4L",), 1.0, 1.0),
    (("4B", "7B"), ("4L", "7L"), 1.0, 1.0),
    (("4B", "7L"), ("4B", "7L"), 0.0, 0.0),
    (("4B", "7B"), ("4B",), 0.31, 0.37),
    (("4B", "7B"), ("4B", "7L"), 0.46, 0.53),
)
