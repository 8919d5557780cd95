#!/usr/bin/env python3
"""Is at a room's journal in every way that somebody, a disk or a backup program may be, and asks the real binary: no
answer may differ from that of the untouched room without saying that the journal does not hold. Python's sqlite3 and
hashlib are the other side; nothing of boxcall is read but its commands' answers.

Run: python3 tests/reference/tamper.py BOXCALL [TRIES [SEED]]
"""
import hashlib, json, os, random, shutil, sqlite3, stat, subprocess, sys, tempfile

BOXCALL = os.path.abspath(sys.argv[1])
TRIES = int(sys.argv[2]) if len(sys.argv) > 2 else 200
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else random.SystemRandom().randrange(2**32)
print(f"tamper: seed {SEED}, {TRIES} tries")
chance = random.Random(SEED)
work = tempfile.mkdtemp(prefix="boxcall-tamper-")
ENV = {**os.environ, "HOME": work, "XDG_DATA_HOME": work, "LC_ALL": "C.UTF-8"}


def run(room, *words):
    done = subprocess.run([BOXCALL, "--room", room, *words], capture_output=True, env=ENV, timeout=120)
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


# A room with a case, an older copy of it, and what was written since: the mark knows of it.
good = os.path.join(work, "good")
assert run(good, "demo", "--plain")[0] == 0
older = os.path.join(work, "older.db")
assert run(good, "journal", "backup", older)[0] == 0
recall = os.path.join(work, "recall.csv")
open(recall, "w").write("di,lot\n,HM-NEVER\n")
assert run(good, "stock", "recall", recall)[0] == 0
record = json.loads(run(good, "case", "export", "--format", "json")[1])
boxes = [box for box in record["boxes"] if box["label"].get("lot")]
lots = sorted({box["label"]["lot"] for box in boxes})
# All of it in one file: no tail in a log beside it.
whole = os.path.join(work, "whole.db")
assert run(good, "journal", "backup", whole)[0] == 0
for end in ("", "-wal", "-shm"):
    if os.path.exists(f"{good}/journal.db{end}"):
        os.remove(f"{good}/journal.db{end}")
shutil.copy(whole, f"{good}/journal.db")
GUARDS = [row for row in sqlite3.connect(whole).execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")]

QUESTIONS = [("trace", "--lot", lot) for lot in lots] + [
    ("trace", "--lot", "NONE-SUCH"),
    ("trace", "--recalled"),
    ("case", "list"),
    ("case", "export", "--format", "json"),
    ("case", "totals"),
    ("stock", "list"),
    ("stock", "history"),
    ("journal", "check"),
]
VARIABLE = {"written", "journal", "journal_head", "journal_anchor"}


def answer(text):
    try:
        told = json.loads(text)
    except ValueError:
        return text
    return {key: value for key, value in told.items() if key not in VARIABLE} if isinstance(told, dict) else told


def ask(room, question):
    code, out, err = run(room, *question, "--json")
    return code, answer(out), out, err


RIGHT = {question: ask(good, question)[:2] for question in QUESTIONS}
assert RIGHT[("journal", "check")][0] == 0


def database(room):
    return sqlite3.connect(f"{room}/journal.db", isolation_level=None)


def alter(room, *statements, keep_guards=True):
    with database(room) as db:
        for name, _ in GUARDS:
            db.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            db.execute(statement)
        if keep_guards:
            for _, sql in GUARDS:
                db.execute(sql)


def entries(room):
    return database(room).execute("SELECT max(seq) FROM journal").fetchone()[0]


# What somebody does to a room; each says what it was.
def flip_bit(room):
    name = chance.choice(["journal.db"] * 6 + ["journal.mark", "shown"])
    path = f"{room}/{name}"
    if not os.path.exists(path) or not os.path.getsize(path):
        return "nothing"
    data = bytearray(open(path, "rb").read())
    at = chance.randrange(len(data))
    data[at] ^= 1 << chance.randrange(8)
    open(path, "wb").write(data)
    return f"a bit of {name} at {at}"


def flip_in_lot(room):
    data = bytearray(open(f"{room}/journal.db", "rb").read())
    lot = chance.choice(lots).encode()
    places = [at for at in range(len(data)) if data.startswith(lot, at)]
    at = chance.choice(places) + chance.randrange(len(lot))
    data[at] ^= 1 << chance.randrange(7)
    open(f"{room}/journal.db", "wb").write(data)
    return f"a bit of a lot at {at}"


def zero_block(room):
    data = bytearray(open(f"{room}/journal.db", "rb").read())
    size = chance.choice([1, 16, 512, 4096])
    at = chance.randrange(0, len(data), size)
    data[at:at + size] = bytes(min(size, len(data) - at))
    open(f"{room}/journal.db", "wb").write(data)
    return f"{size} zeros at {at}"


def cut_file(room):
    size = os.path.getsize(f"{room}/journal.db")
    to = chance.choice([0, size - 4096, chance.randrange(size)])
    os.truncate(f"{room}/journal.db", to)
    return f"cut to {to}"


def edit_lot(room):
    lot = chance.choice(lots)
    alter(room, f"UPDATE journal SET body = replace(body, '{lot}', 'EDITED')")
    return f"lot {lot} edited, guards put back"


def edit_column(room):
    column, value = chance.choice([("what", "'case-begun'"), ("case_code", "NULL"), ("case_code", "'ACDEF'"), ("at", "'2020-01-01T00:00:00+00:00'"), ("part", "9"), ("command", "'x' || seq"), ("hash", "randomblob(32)"), ("prev", "randomblob(32)")])
    seq = chance.randrange(1, entries(room) + 1)
    alter(room, f"UPDATE journal SET {column} = {value} WHERE seq = {seq}")
    return f"{column} of entry {seq}"


def delete_entry(room):
    seq = chance.randrange(1, entries(room) + 1)
    alter(room, f"DELETE FROM journal WHERE seq = {seq}")
    return f"entry {seq} deleted"


def delete_tail(room):
    seq = chance.randrange(1, entries(room) + 1)
    alter(room, f"DELETE FROM journal WHERE seq >= {seq}")
    return f"entries from {seq} on deleted"


def rehash(room):
    """An edit with a chain that holds from there on: the mark knows another head."""
    lot = chance.choice(lots)
    with database(room) as db:
        rows = db.execute("SELECT seq, body FROM journal ORDER BY seq").fetchall()
    statements, previous = [], bytes(32)
    for seq, body in rows:
        body = body.replace(lot, "EDITED")
        digest = hashlib.sha256(previous + body.encode()).digest()
        quoted = body.replace("'", "''")
        statements.append(f"UPDATE journal SET prev = x'{previous.hex()}', hash = x'{digest.hex()}', body = '{quoted}' WHERE seq = {seq}")
        previous = digest
    alter(room, *statements)
    return f"lot {lot} edited and the chain written anew"


def older_backup(room):
    shutil.copy(older, f"{room}/journal.db")
    return "an older backup in place"


def other_room(room):
    other = os.path.join(work, "other")
    if not os.path.exists(other):
        assert run(other, "demo", "--plain")[0] == 0
        assert run(other, "journal", "backup", other + ".db")[0] == 0
    shutil.copy(other + ".db", f"{room}/journal.db")
    return "another room's journal in place"


def drop_guards(room):
    some = chance.sample(GUARDS, chance.randrange(1, len(GUARDS) + 1))
    with database(room) as db:
        for name, _ in some:
            db.execute(f"DROP TRIGGER {name}")
    return "dropped " + ", ".join(name for name, _ in some)


def plant(room):
    made = chance.choice([
        "CREATE TRIGGER planted BEFORE INSERT ON journal BEGIN SELECT RAISE(IGNORE); END",
        "CREATE TRIGGER planted AFTER INSERT ON journal BEGIN SELECT 1; END",
        "CREATE VIEW planted AS SELECT * FROM journal WHERE what <> 'box-opened'",
        "CREATE TABLE planted(x)",
        "CREATE INDEX planted ON journal(what)",
        "DROP INDEX journal_by_case",
    ])
    with database(room) as db:
        db.execute(made)
    return made


def ruin_index(room):
    where = chance.choice(["case_code <> 'ACDEF'", "seq % 2 = 0", "seq < 5"])
    right = "CREATE INDEX journal_by_case ON journal(case_code, seq)"
    for sql, rest in ((f"{right} WHERE {where}".replace("'", "''"), True), (right, False)):
        db = database(room)
        db.execute("PRAGMA writable_schema = ON")
        db.execute(f"UPDATE sqlite_schema SET sql = '{sql}' WHERE name = 'journal_by_case'")
        db.close()
        if rest:
            db = database(room)
            db.execute("REINDEX journal_by_case")
            db.close()
    return f"the index holds {where} only"


def gone(room):
    os.remove(f"{room}/journal.db")
    return "the journal is gone"


def emptied(room):
    open(f"{room}/journal.db", "w").close()
    return "the journal is empty"


def new_one(room):
    os.remove(f"{room}/journal.db")
    fresh = os.path.join(work, "fresh")
    if not os.path.exists(fresh):
        os.mkdir(fresh)
        with sqlite3.connect(fresh + ".db", isolation_level=None) as db:
            for (sql,) in sqlite3.connect(whole).execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY type DESC, name"):
                if sql.startswith("CREATE TABLE"):
                    db.execute(sql)
            for (sql,) in sqlite3.connect(whole).execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL"):
                if not sql.startswith("CREATE TABLE"):
                    db.execute(sql)
            db.execute(f"PRAGMA application_id = {0x6278636c}")
            db.execute("PRAGMA user_version = 1")
    shutil.copy(fresh + ".db", f"{room}/journal.db")
    return "a new journal in place"


def clock_back(room):
    """The times in the file system say that nothing has changed."""
    before = os.stat(f"{good}/journal.db")
    what = chance.choice([flip_in_lot, edit_lot, older_backup, delete_tail])(room)
    os.utime(f"{room}/journal.db", (before.st_atime - 86400, before.st_mtime - 86400))
    return what + ", with an earlier time"


def read_only(room):
    what = chance.choice([flip_in_lot, edit_lot, older_backup, delete_tail, drop_guards, nothing])(room)
    for name in os.listdir(room):
        path = os.path.join(room, name)
        if os.path.isfile(path):
            os.chmod(path, stat.S_IRUSR)
    os.chmod(room, stat.S_IRUSR | stat.S_IXUSR)
    return what + ", in a folder that can't be written"


def beside(room):
    name = chance.choice(["journal.mark", "shown"])
    what = chance.choice([flip_in_lot, edit_lot, rehash, delete_entry])(room)
    text = chance.choice(["", "x", "boxcall", "0" * 90])
    if name == "journal.mark" or what.startswith("a bit") or not text:
        open(f"{room}/{name}", "w").write(text or "torn")
    return f"{what}, and {name} says {text!r}"


def nothing(room):
    return "nothing"


HANDS = [flip_bit, flip_bit, flip_in_lot, flip_in_lot, zero_block, cut_file, edit_lot, edit_column, edit_column, delete_entry, delete_tail, rehash, older_backup, other_room, drop_guards, plant, ruin_index, gone, emptied, new_one, clock_back, read_only, beside, nothing]

silent, said, same, by_hand = [], 0, 0, {}
for attempt in range(TRIES):
    room = os.path.join(work, "room")
    shutil.copytree(good, room)
    hand = chance.choice(HANDS)
    try:
        what = hand(room)
    except sqlite3.DatabaseError as error:
        what = f"{hand.__name__}: {error}"
    by_hand[hand.__name__] = by_hand.get(hand.__name__, 0) + 1
    asked = chance.sample(QUESTIONS, 4) + [("trace", "--lot", chance.choice(lots))]
    for question in asked:
        code, told, out, err = ask(room, question)
        right = RIGHT[question]
        if (code, told) == right:
            same += 1
        elif question == ("journal", "check") and code in (1, 2, 3) and "holds\": true" not in out:
            said += 1
        elif code >= 2 and ("DOES NOT HOLD" in err or '"error"' in out):
            said += 1
        else:
            silent.append((attempt, what, question, code, right[0], out[:300], err[:300]))
    os.chmod(room, 0o700)
    shutil.rmtree(room)

print(f"{TRIES} tries ({', '.join(f'{name} {count}' for name, count in sorted(by_hand.items()))})")
print(f"{same} answers were those of the untouched room, {said} said that they may be wrong or gave none, {len(silent)} were wrong in silence")
shutil.rmtree(work, ignore_errors=True)
for one in silent[:10]:
    print(*one, sep="\n  ")
sys.exit(1 if silent else 0)
