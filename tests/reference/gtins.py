"""Check digits of invented GTINs by a public library (biip), for tests/it/import.rs. Writes gtins.tsv beside itself:
    python3 tests/reference/gtins.py [--check]
Also fails where a GTIN of the invented release is not what truth.tsv says of it. Needs biip 5.2.0."""
import os, random, sys

from biip.gtin import Gtin
from biip.checksums import gs1_standard_check_digit

HERE = os.path.dirname(os.path.abspath(__file__))
r = random.Random(952)
bodies = ["0952" + "".join(r.choice("0123456789") for _ in range(n)) for n in [9] * 120 + [8] * 40 + [7] * 40]
text = "# python3 tests/reference/gtins.py: digits without and their check digit, by biip 5.2.0\n"
text += "".join(f"{body}\t{gs1_standard_check_digit(body)}\n" for body in bodies)
path = os.path.join(HERE, "gtins.tsv")
if "--check" in sys.argv:
    assert open(path).read() == text, "gtins.tsv is not what this script finds"
else:
    open(path, "w").write(text)
wrong = 0
for line in open(os.path.join(HERE, "release", "truth.tsv")).read().splitlines()[1:]:
    di, state = line.split("\t")[:2]
    if di.isdigit():
        try:
            Gtin.parse(di)
        except Exception:
            wrong += 1
            assert state == "unreadable", di
assert wrong == 8, wrong
