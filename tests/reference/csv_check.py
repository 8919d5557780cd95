#!/usr/bin/env python3
"""Reads an exported table with Python's csv, and with the sqlite3 shell where there is one; types and cells must hold.

Run: python3 tests/reference/csv_check.py FILE.csv [RECORD.json]
"""
import csv, datetime, json, re, shutil, subprocess, sys

path = sys.argv[1]
with open(path, encoding="utf-8", newline="") as handle:
    rows = list(csv.DictReader(handle, strict=True))
NUMBERS = re.compile(r"(_mm|_atm|_min)$|^(box|entry|price|cost|count|implanted|used|not_used|lost|not_found|unsettled|fate_lesion|above_rated_burst|distal_box)$")
for row in rows:
    assert None not in row and None not in row.values(), "a row is longer or shorter than the header"
    for name, cell in row.items():
        # OWASP, "CSV injection".
        assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")), f"{name}: {cell!r} is a formula"
        if not cell:
            continue
        if name.endswith("_at"):
            datetime.datetime.strptime(cell, "%Y-%m-%d %H:%M:%S")
        elif name == "use_by":
            datetime.date.fromisoformat(cell)
        elif NUMBERS.search(name) and not cell.startswith("'"):
            float(cell)
        elif name in ("di", "lot", "serial", "ref"):
            # As a spreadsheet guesses: what float() reads would become a number.
            try:
                float(cell)
            except ValueError:
                continue
            raise AssertionError(f"{name}: {cell!r} would be taken for a number")
if len(sys.argv) > 2:
    record = json.load(open(sys.argv[2], encoding="utf-8"))
    plain = lambda cell: cell[1:] if cell.startswith("'") else cell
    assert len(rows) == len(record["boxes"])
    for row, box in zip(rows, record["boxes"]):
        for column, key in (("di", "di"), ("lot", "lot"), ("serial", "serial"), ("ref", "reference"), ("name", "name"), ("shelf", "shelf")):
            assert plain(row[column]) == box["label"].get(key, ""), f"box {row['box']}: {column} differs from the record"
        for column, key in (("diameter_mm", "diameter"), ("length_mm", "length"), ("price", "price")):
            assert (float(row[column]) if row[column] else None) == box["label"].get(key), f"box {row['box']}: {column} differs"
    # Overlaps: the proximal box names the distal one, and the record adds up what the table says.
    joints = {int(row["box"]): row for row in rows if row["distal_box"]}
    for overlap in record["overlaps"]:
        row = joints[overlap["proximal"]]
        assert int(row["distal_box"]) == overlap["distal"] and float(row["gap_mm" if overlap.get("gap") else "overlap_mm"]) == overlap["mm"]
    length = {box["box"]: box["label"].get("length") for box in record["boxes"]}
    for placed in record["placed"]:
        if placed["end_to_end_mm"] is not None:
            joined = sum(float(joints[b]["overlap_mm"] or 0) - float(joints[b]["gap_mm"] or 0) for b in placed["boxes"][1:])
            assert abs(sum(length[b] for b in placed["boxes"]) - joined - placed["end_to_end_mm"]) < 1e-9, "end to end"
shell = shutil.which("sqlite3")
if shell:
    script = f".import --csv \"{path}\" t\n.mode json\nSELECT * FROM t;\n"
    out = subprocess.run([shell, ":memory:"], input=script, capture_output=True, text=True, check=True)
    assert not out.stderr, out.stderr
    assert (json.loads(out.stdout) if out.stdout.strip() else []) == rows, "the sqlite3 shell reads other cells"
print(f"{path}: {len(rows)} rows" + ("" if shell else "; no sqlite3 shell here"))
