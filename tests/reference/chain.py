#!/usr/bin/env python3
"""The expected chain values of src/journal/chain.rs, by another implementation of SHA-256 (Python's hashlib).

Run: python3 tests/reference/chain.py
"""
import hashlib

previous = bytes(32)
for body in ["abc", '{"seq":2,"why":"wire „Fjord“ ⌀ 0.014"}']:
    previous = hashlib.sha256(previous + body.encode("utf-8")).digest()
    print(previous.hex())
