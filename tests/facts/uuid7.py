"""The worked example of a version 7 UUID.

Source: RFC 9562 (Universally Unique IDentifiers, May 2024), appendix A.6: Tuesday, 22 February
2022, 14:22:22.00 GMT-05:00, with the fields unix_ts_ms, rand_a and rand_b as below.
"""

from __future__ import annotations

UNIX_TS_MS = 0x017F22E279B0
RAND_A = 0xCC3
RAND_B = 0x18C4DC0C0C07398F
TEXT = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F"
MOMENT = "2022-02-22T14:22:22-05:00"
