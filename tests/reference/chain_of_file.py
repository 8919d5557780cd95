#!/usr/bin/env python3
"""Recomputes the hash chain of a journal (journal.db) or of one case's record (JSON), knowing nothing of boxcall.

Run: python3 tests/reference/chain_of_file.py FILE
"""
import hashlib, json, sqlite3, sys

path = sys.argv[1]
if path.endswith(".json"):
    entries = json.load(open(path, encoding="utf-8"))["entries"]
    rows = [(e["entry"], bytes.fromhex(e["previous"]), bytes.fromhex(e["hash"]), e["body"]) for e in entries]
else:
    file = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)], "SQLite's integrity check"
    rows = file.execute("SELECT seq, prev, hash, body FROM journal ORDER BY seq").fetchall()
last = (0, bytes(32))
for seq, previous, digest, body in rows:
    # A record of one case has gaps: the room's and other cases' entries stand between its own.
    assert seq == last[0] + 1 or (path.endswith(".json") and seq > last[0]), f"entry {seq} is out of order"
    assert seq != last[0] + 1 or previous == last[1], f"entry {seq} does not follow the one before"
    assert hashlib.sha256(previous + body.encode()).digest() == digest, f"entry {seq} was changed"
    assert json.loads(body)["seq"] == seq, f"entry {seq} says that it is another"
    last = (seq, digest)
print(f"{path}: {len(rows)} entries, the chain holds, head {last[1].hex()}")
