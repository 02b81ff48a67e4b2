"""Check the committed sounds: real Ogg files (RFC 3533) that start with a Vorbis header, a few kilobytes at most.

They were made once with `make-sounds.sh`; another encoder's version would give other bytes, so they are not made again.
"""

from __future__ import annotations

import struct
from pathlib import Path

LARGEST = 8 * 1024


def problems(path: Path) -> list[str]:
    """What is wrong with the file at `path`; empty if nothing is."""
    data = path.read_bytes()
    if len(data) > LARGEST:
        return [f"{path}: {len(data)} bytes, more than {LARGEST}"]
    offset, pages = 0, 0
    while offset < len(data):
        if data[offset : offset + 4] != b"OggS":
            return [f"{path}: no Ogg page at byte {offset}"]
        segments = data[offset + 26]
        body = sum(data[offset + 27 : offset + 27 + segments])
        end = offset + 27 + segments + body
        page = data[offset:end]
        if len(page) < end - offset:
            return [f"{path}: the last page is cut short"]
        (sum_in_file,) = struct.unpack("<I", page[22:26])
        if _checksum(page[:22] + b"\0\0\0\0" + page[26:]) != sum_in_file:
            return [f"{path}: wrong checksum in page {pages}"]
        if pages == 0 and page[27 + segments :][:7] != b"\x01vorbis":
            return [f"{path}: the first packet is no Vorbis header"]
        offset, pages = end, pages + 1
    return [] if pages >= 2 else [f"{path}: {pages} pages, too few"]


def _checksum(data: bytes) -> int:
    """Ogg's CRC: polynomial 0x04c11db7, starts at 0, bits not reflected (RFC 3533, section 6, field 7)."""
    crc = 0
    for byte in data:
        crc ^= byte << 24
        for _ in range(8):
            crc = (crc << 1 ^ 0x04C11DB7 if crc & 0x80000000 else crc << 1) & 0xFFFFFFFF
    return crc
