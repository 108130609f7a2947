"""Seal a store again after it was changed on purpose: the form of docs/store-layout.md, written anew here.

usage: reseal.py STORE"""
import struct
import sys

SEAL_BYTES = 512
MASK = (1 << 64) - 1


def checksum(data):
    """FNV-1a over 64-bit words, the last filled up with zeros, a shift after each step."""
    value = 14695981039346656037
    data += b"\0" * (-len(data) % 8)
    for (word,) in struct.iter_unpack("<Q", data):
        value = (value ^ word) * 1099511628211 & MASK
        value ^= value >> 32
    return value


def seal(path):
    with open(path, "r+b") as store:
        store.seek(SEAL_BYTES)
        data = store.read()
        text = b"rollcast-store\nbytes %d\nchecksum %016x\n" % (SEAL_BYTES + len(data), checksum(data))
        store.seek(0)
        store.write(text.ljust(SEAL_BYTES, b"\0"))


if __name__ == "__main__":
    seal(sys.argv[1])
