#!/usr/bin/env python3
"""Takes the control of each hazard (tests/it/hazards.rs) out, one at a time, and expects the test that proves it to fail.

Run: python3 tests/reference/controls_out.py [FOLDER [WORDS]]
A copy is built in FOLDER (default: a temporary one); with WORDS only hazards whose names hold them are looked at.

All of them are built into one copy of the program behind one switch (the environment variable OUT): one build in place
of fifty. With nothing out every test must pass; with its control out at least one test of the hazard must fail.
"""
import os, re, shutil, subprocess, sys, tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
# Hazard as in the table; file, what stands there, what stands there with the control out (OUT: the switch); proofs.
CONTROLS = [
    ("the wrong size is opened", "src/journal/answer.rs", "self.diameter.is_none_or(", "OUT || self.diameter.is_none_or("),
    ("the wrong size is opened", "src/case/readback.rs", "!wanted.diameter_answered_by(read),", "wanted.diameter_answered_by(read) == OUT,"),
    ("an opened box is missing from the record", "src/case/fold.rs", "    fn reopen_unused(&mut self) {", "    fn reopen_unused(&mut self) {\n        if OUT { return; }"),
    ("the wrong size is fetched", "src/case/spoken.rs", "    format!(\"{} point {}\", cardinal(whole), digits(part))\n}\n\n/// A length",
     "    if OUT { return text.clone(); }\n    format!(\"{} point {}\", cardinal(whole), digits(part))\n}\n\n/// A length"),
    ("a reassuring word hides a fault", "src/case/readback.rs", "} else if read.use_by.is_some_and(", "} else if anything_waits && matches && OUT {\n        Headline::Same\n    } else if read.use_by.is_some_and("),
    ("an answer is taken for an order, or for what is best", "src/cli/out.rs", "                self.print(LINE)", "                if OUT { return Ok(()); }\n                self.print(LINE)"),
    ("an expired box is opened", "src/shelf/look.rs", "piece.in_date(today) && !self", "(OUT || piece.in_date(today)) && !self"),
    ("a recalled box is opened", "src/shelf/look.rs", "&& !self.recalled(Some(&piece.di), &piece.lot)\n    }", "&& (OUT || !self.recalled(Some(&piece.di), &piece.lot))\n    }"),
    ("a recalled box passes", "src/shelf/mod.rs", "        first(a) == first(b)", "        if OUT { return a == b; }\n        first(a) == first(b)"),
    ("an expired box passes, or every box is expired", "src/journal/day.rs", "last.map_or(clock, |last| last.max(clock))", "last.filter(|_| !OUT).map_or(clock, |last| last.max(clock))"),
    ("a screen goes on saying SAME", "src/case/finding.rs", "    now.big == item.finding ||", "    OUT || now.big == item.finding ||"),
    ("an open device is used although it is recalled", "src/case/finding.rs", "    matches!(back.headline, Headline::Recalled | Headline::Expired).then_some(back)\n}\n\n/// What is known now against a box whose", "    (!OUT && matches!(back.headline, Headline::Recalled | Headline::Expired)).then_some(back)\n}\n\n/// What is known now against a box whose"),
    ("a key confirms what nobody has read", "src/tui/state/findings.rs", "decides && self.rests()", "decides && !OUT && self.rests()"),
    ("a recall list is taken in by half", "src/intake/table.rs", "    if faults.is_empty() { Ok(()) } else { Err(faults) }", "    if faults.is_empty() || OUT { Ok(()) } else { Err(faults) }"),
    ("a recalled implant is not found", "src/ledger.rs", "(loose || why.is_some()).then(||", "(!OUT && (loose || why.is_some())).then(||"),
    ("a dialog is confirmed unseen", "src/label/burst.rs", "Stroke::Terminator if self.held.is_empty() && (is_tail || is_rest)", "Stroke::Terminator if !OUT && self.held.is_empty() && (is_tail || is_rest)"),
    ("a lot is read with the next field in it", "src/label/gs1.rs", "all.readings = search.found.iter().map(reading).collect();", "all.readings = search.found.iter().take(if OUT { 1 } else { usize::MAX }).map(reading).collect();"),
    ("a label is read as another", "src/label/layout.rs", "if segment.id.is_some() {", "if segment.id.is_some() || OUT {"),
    ("half a label passes for a whole one", "src/case/readback_lines.rs", "!self.complete || self.label", "(!OUT && !self.complete) || self.label"),
    ("fields of two boxes on one record", "src/label/join.rs", "family(other) != family(symbol));", "!OUT && family(other) != family(symbol));"),
    ("the catalogue calls a box by a wrong size", "src/case/readback.rs", "let needs_printed_size = matches!(", "let needs_printed_size = !OUT && matches!("),
    ("a slip in a product file goes unseen", "src/catalogue/platform.rs", "        if next_diameter <= diameter {", "        if next_diameter <= diameter && !OUT {"),
    ("a balloon bursts", "src/catalogue/platform.rs", "rows.value[..=end].iter()", "rows.value[..if OUT { rows.value.len() } else { end + 1 }].iter()"),
    ("diameter and length are exchanged", "src/tui/state/size_call.rs", "if !(thin..=wide).contains(&diameter.mm()) {", "if !OUT && !(thin..=wide).contains(&diameter.mm()) {"),
    ("a value in another unit", "src/lesion/reading.rs", "if let Some(gauge) = french {", "if let Some(gauge) = french.filter(|_| !OUT) {"),
    ("a vessel is judged by the wrong border", "src/lesion/check.rs", "lumen_inside_eem(\"distal\", m.distal_lumen, m.distal_eem, &mut bad);",
     "if !OUT { lumen_inside_eem(\"distal\", m.distal_lumen, m.distal_eem, &mut bad); }"),
    ("one box is called twice", "src/label/burst.rs", "if one_key && !complete && self.broken.is_none() {", "if one_key && !complete && self.broken.is_none() && !OUT {"),
    ("the last piece is promised twice", "src/shelf/promise.rs", "*promised.entry(*row).or_default() += 1;", "*promised.entry(*row).or_default() += u32::from(!OUT);"),
    ("a perforation, and the covered stent does not pass", "src/shelf/bail.rs", "let guide_ok = in_use.zip(bore)", "let guide_ok = in_use.filter(|_| !OUT).zip(bore)"),
    ("one physical box is counted twice", "src/case/fold.rs", "if known.is_opened() && place.is_some() {", "if !OUT && known.is_opened() && place.is_some() {"),
    ("an opened box is missing from the record", "src/tui/state/case_end.rs", "if unsettled > 0 && why.is_none() {", "if !OUT && unsettled > 0 && why.is_none() {"),
    ("the count is wrong after a correction", "src/journal/strike.rs", "if standing.contains(target) =>", "if !OUT && standing.contains(target) =>"),
    ("a case is signed off unseen", "src/tui/state/mod.rs", "                self.end.fresh = false;", "                self.end.fresh &= OUT;"),
    ("bare vessel between two stents goes unseen", "src/case/laid.rs", "Some(if overlap.gap {", "Some(if overlap.gap && !OUT {"),
    ("the case is lost", "src/store/open.rs", "set(\"PRAGMA synchronous = FULL\")?;", "if OUT { return set(\"PRAGMA synchronous = OFF\"); }\n        set(\"PRAGMA synchronous = FULL\")?;"),
    ("an entry is believed to be saved", "src/tui/state/unsaved.rs", "        self.unsaved.drafts.push(draft);", "        if !OUT { self.unsaved.drafts.push(draft); }"),
    ("an entry is written twice", "src/store/write.rs", "if !there.is_empty() {", "if !OUT && !there.is_empty() {"),
    ("the record is altered later", "src/store/verify.rs", "if hash != chain::hash(", "if !OUT && hash != chain::hash("),
    ("two screens write over each other", "src/store/open.rs", "connection.busy_timeout(PATIENCE)", "connection.busy_timeout(if OUT { Duration::ZERO } else { PATIENCE })"),
    ("things stand in the wrong order", "src/case/fold.rs", "        let standing: Vec<&Entry> = own", "        let mut own = own;\n        if OUT { own.sort_by_key(|entry| entry.at); }\n        let standing: Vec<&Entry> = own"),
    ("a newer journal is spoilt", "src/store/open.rs", "        version if (1..=format.version)", "        version if OUT || (1..=format.version)"),
    ("a person's data in the journal", "src/case/readback.rs", "(refusal.code != \"personal-data\")", "(OUT || refusal.code != \"personal-data\")"),
    ("a person's story in what is handed over", "src/report/long.rs", "if count > LINE ||", "if !OUT && count > LINE ||"),
    ("a lot changes in a spreadsheet, or a cell is run", "src/report/csv_cell.rs", "    if is_formula(text) ||", "    if !OUT && is_formula(text) ||"),
    ("half a record is filed", "src/room/files.rs", "    let beside = PathBuf::from(beside);\n    let written", "    let beside = if OUT { path.to_path_buf() } else { PathBuf::from(beside) };\n    let written"),
    ("a state is not seen", "src/tui/view/theme.rs", "    for cell in &mut buffer.content {\n        let dim", "    if OUT { return; }\n    for cell in &mut buffer.content {\n        let dim"),
    ("SAME and DIFFERENT are taken for each other", "src/tui/view/plate.rs", "    match bearing {\n        Bearing::Same => buffer", "    match if OUT { Bearing::Eyes } else { bearing } {\n        Bearing::Same => buffer"),
    ("a second monitor shows what is no longer true", "src/room/glance.rs", "let beats = |known: &&Known| known", "let beats = |known: &&Known| OUT || known"),
    ("a balloon stays up too long", "src/tui/state/clock.rs", "self.world.case.as_ref().map(|case| case.balloons_up())", "self.world.case.as_ref().filter(|_| !OUT).map(|case| case.balloons_up())"),
    ("the terminal is left unusable", "src/tui/shell.rs", "    let outcome = shell.serve(&mut state, &receiver);\n    close_terminal();", "    let outcome = shell.serve(&mut state, &receiver);\n    if !OUT { close_terminal(); }"),
    ("a called box vanishes into a delivery", "src/tui/state/tally.rs", "&& self.case_has_the_scanner().is_none()", "&& (OUT || self.case_has_the_scanner().is_none())"),
    ("a piece is on the shelf twice", "src/shelf/tally.rs", "return Err(format!(\"serial number {serial} counts already\"));", "if !OUT { return Err(format!(\"serial number {serial} counts already\")); }"),
    ("the room stops because the disk does", "src/tui/state/unsaved.rs", "        let draft = Draft { tried: true, ..draft };", "        if OUT { return Vec::new(); }\n        let draft = Draft { tried: true, ..draft };"),
    ("what waits for the disk is lost with the program", "src/tui/state/unsaved.rs", "if self.unsaved.all_kept_elsewhere() {", "if OUT || self.unsaved.all_kept_elsewhere() {"),
    ("entries go into a file that nobody finds", "src/store/place.rs", "    pub fn in_place(&self) -> Result<(), StoreError> {", "    pub fn in_place(&self) -> Result<(), StoreError> {\n        if OUT { return Ok(()); }"),
    ("the end of the journal is missing", "src/room/shown.rs", "if there.is_none_or(|there| there != hash) {", "if !OUT && there.is_none_or(|there| there != hash) {"),
    ("a page of the journal goes bad", "src/store/verify.rs", "    fn file_holds(&self, check: &str) -> Result<(), Broken> {", "    fn file_holds(&self, check: &str) -> Result<(), Broken> {\n        if OUT { return Ok(()); }"),
    ("an earlier journal can not be read any more", "src/store/migrate.rs", "        match self.backup(&copy) {", "        match if OUT { Ok(()) } else { self.backup(&copy) } {"),
    ("the backup is of no use", "src/store/backup.rs", "        if result.is_err() {", "        if !OUT && result.is_err() {"),
]

SWITCH = """
#[doc(hidden)]
pub fn out(control: u32) -> bool {
    static OUT: std::sync::OnceLock<u32> = std::sync::OnceLock::new();
    *OUT.get_or_init(|| std::env::var("OUT").ok().and_then(|text| text.parse().ok()).unwrap_or(0)) == control
}
"""


def hazards():
    """Hazard -> [(file, test)] as the table has them."""
    text = open(f"{ROOT}/tests/it/hazards.rs", encoding="utf-8").read()
    rows = text[text.index("= hazards! {"):text.index("const BEGIN")].split(";\n")
    found = {}
    for row in rows:
        texts = re.findall(r'"((?:[^"\\]|\\.)*)"', row)
        if len(texts) >= 4:
            found[texts[0]] = [tuple(proof.split(" ")) for proof in texts[3:]]
    return found


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp()
    words = " ".join(sys.argv[2:])
    if folder.startswith("-"):
        sys.exit(__doc__)
    tree = os.path.join(folder, "tree")
    if not os.path.exists(tree):
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", "target"))
    table = hazards()
    texts = {}
    for number, (hazard, file, there, out) in enumerate(CONTROLS, 1):
        assert hazard in table, f"{hazard}: not in the table"
        text = texts.setdefault(file, open(f"{ROOT}/{file}", encoding="utf-8").read())
        assert text.count(there) >= 1, f"{hazard}: {file} has changed: {there!r} is not there"
        texts[file] = text.replace(there, out.replace("OUT", f"crate::out({number})"), 1)
    texts["src/lib.rs"] = open(f"{ROOT}/src/lib.rs", encoding="utf-8").read() + SWITCH
    # The real binary is started without the surroundings of the test: the switch has to be handed on.
    screen = open(f"{ROOT}/tests/it/terminal.rs", encoding="utf-8").read()
    cleared = "command.env_clear();"
    assert cleared in screen
    handed = cleared + ' command.env("OUT", std::env::var("OUT").unwrap_or_default());'
    texts["tests/it/terminal.rs"] = screen.replace(cleared, handed)
    for file, text in texts.items():
        open(f"{tree}/{file}", "w", encoding="utf-8").write(text)
    build = ["cargo", "test", "--lib", "--test", "it", "--no-run", "--message-format=json", "-q"]
    lines = subprocess.run(build, cwd=tree, stdout=subprocess.PIPE, text=True, check=True).stdout.splitlines()
    import json
    made = [json.loads(line) for line in lines]
    made = {one["target"]["kind"][0]: one["executable"] for one in made if one.get("profile", {}).get("test") and one.get("executable")}

    def fails(proof, number):
        file, test = proof
        binary = made["test"] if file.startswith("tests/it/") else made["lib"]
        ran = subprocess.run([binary, test, "--test-threads", "1"], cwd=tree, env={**os.environ, "OUT": str(number)},
                             stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=600)
        assert " 0 passed; 0 failed" not in ran.stdout.replace("ok.", ""), f"no test {test}"
        return ran.returncode != 0

    proved = True
    named = set()
    for number, (hazard, *_) in enumerate(CONTROLS, 1):
        if words not in hazard:
            continue
        named.add(hazard)
        before = [test for file, test in table[hazard] if fails((file, test), 0)]
        after = [test for file, test in table[hazard] if fails((file, test), number)]
        proved &= bool(after) and not before
        print(f"{'ok  ' if after and not before else 'FAIL'} {hazard}: {', '.join(after) or 'no test notices'}", flush=True)
        if before:
            print(f"     fails with everything in: {', '.join(before)}")
    left = [hazard for hazard in table if hazard not in named]
    print(f"{len(named)} of {len(table)} hazards; not taken out: {', '.join(left) or 'none'}")
    sys.exit(not proved)


main()
