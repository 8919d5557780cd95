#!/usr/bin/env python3
"""Makes a journal of format 1 out of the bodies of its entries (JSON, one a line): rows and hash chain, knowing nothing
of boxcall. The tables and guards are those of the journal that is there, whose rows are replaced.

Run: python3 tests/reference/chain_of_bodies.py tests/data/journals/v1.jsonl tests/data/journals/v1.db
"""
import hashlib, json, os, sqlite3, sys

bodies, path = open(sys.argv[1], encoding="utf-8").read().splitlines(), sys.argv[2]
with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as kept:
    marks = {name: kept.execute(f"PRAGMA {name}").fetchone()[0] for name in ("application_id", "user_version")}
    made = [sql for (sql,) in kept.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY type = 'trigger', type <> 'table'")]
os.remove(path)
file = sqlite3.connect(path)
for name, value in marks.items():
    file.execute(f"PRAGMA {name} = {value}")
for sql in made:
    file.execute(sql)
previous, part, last = bytes(32), 0, None
for body in bodies:
    entry = json.loads(body)
    part, last = (part + 1 if entry["command"] == last else 0), entry["command"]
    digest = hashlib.sha256(previous + body.encode()).digest()
    file.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                 (entry["seq"], entry["at"].replace("Z", "+00:00"), entry["command"], part, entry.get("case"),
                  entry["fact"]["what"], previous, digest, body))
    previous = digest
file.commit()
print(f"{path}: {len(bodies)} entries, head {previous.hex()}")
