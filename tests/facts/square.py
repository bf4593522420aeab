"""The squares of ISO/IEC 18004 (QR Code).

Modules along a side are 4 x version + 17; the quiet zone is four modules wide; characters held
in alphanumeric and in byte mode at error level Q. Source: ISO/IEC 18004, symbol structure and
capacity table; values from memory.
"""

from __future__ import annotations

MODULES_OF_VERSION = {version: 4 * version + 17 for version in (1, 2, 3, 4, 5)}
QUIET_MODULES = 4
ALPHANUMERIC_AT_Q = {1: 16, 2: 29, 3: 47, 4: 67, 5: 87}
BYTES_AT_Q = {1: 11, 2: 20, 3: 32, 4: 46, 5: 60}
