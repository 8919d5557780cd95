//! Catalogue, stock and protocol files: what is taken, and every fault that is told.

use boxcall::catalogue::{self, demo, product};

fn owned() -> Vec<(String, String)> {
    demo::files().into_iter().map(|(name, text)| (name.to_string(), text.to_string())).collect()
}

fn demo_catalogue() -> catalogue::Catalogue {
    catalogue::read(&owned()).unwrap_or_else(|faults| panic!("{}", lines(&faults)))
}

fn lines(faults: &[boxcall::intake::FileFault]) -> String {
    faults.iter().map(|fault| format!("{fault}\n")).collect()
}

#[test]
fn the_demo_catalogues_are_read_without_a_fault() {
    let catalogue = demo_catalogue();
    assert_eq!(catalogue.guides.len(), 4);
    assert!(catalogue.products.windows(2).all(|pair| pair[0].id < pair[1].id));
    for (name, text) in demo::files().into_iter().filter(|(name, _)| *name != "guides.toml") {
        let product = product::read(name, text).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
        assert_eq!(Some(&product), catalogue.product(name.trim_end_matches(".toml")));
    }
}

#[test]
fn the_folder_and_the_list_of_demo_files_agree() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");
    let mut names: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.retain(|name| name.to_string_lossy().ends_with(".toml"));
    names.sort();
    let listed: Vec<_> = demo::files().into_iter().map(|(name, _)| std::ffi::OsString::from(name)).collect();
    assert_eq!(listed, names);
}

/// A product file without a fault, whose parts the tests replace. Invented, as everything here.
const GOOD: &str = r#"schema = 1
id = "fell"
name = "Fell"
maker = "Lowfell (invented)"
kind = "drug-eluting stent"
material = "cobalt-chromium"
strut_um = 78
shaft_cm = 146
wire_in = 0.014
guide_min_id_in = 0.055
price = 900

[[diameter]]
mm = 2.75
crossing_mm = 1.04
expansion_limit_mm = 3.40
nominal_atm = 11
rated_burst_atm = 18
chart = [[8, 2.62], [9, 2.66], [10, 2.71], [11, 2.75], [12, 2.78], [14, 2.84], [16, 2.90], [18, 2.95]]
boxes = [
  { length_mm = 7,  ref = "FL27507", di = ["09521001275071"] },
  { length_mm = 29, ref = "FL27529", di = ["09521001275293"] },
]
"#;

/// Line and key of every fault of this file.
fn places(text: &str) -> Vec<(usize, String)> {
    let faults = product::read("fell.toml", text).expect_err("a faulty file");
    faults.into_iter().map(|fault| (fault.line, fault.key)).collect()
}

/// The number of the first line that begins with this: a place is named by what is there.
fn line_of(text: &str, beginning: &str) -> usize {
    let line = text.lines().position(|line| line.trim_start().starts_with(beginning));
    1 + line.unwrap_or_else(|| panic!("no line begins with {beginning:?}"))
}

fn changed(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from), "{from:?}");
    GOOD.replacen(from, to, 1)
}

#[test]
fn the_example_of_the_format_is_read() {
    let product = product::read("fell.toml", GOOD).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
    let platform = &product.diameters[0];
    assert_eq!((product.id.as_str(), product.verified, product.price), ("fell", true, Some(900.0)));
    assert_eq!(platform.expansion_limit.map(|limit| limit.mm()), Some(3.4));
    assert_eq!(platform.boxes.iter().map(|pack| pack.length.mm()).collect::<Vec<_>>(), [7.0, 29.0]);
    assert_eq!(platform.boxes[1].di[0].as_str(), "09521001275293");
}

#[test]
fn what_may_be_left_out_may_be_left_out() {
    let text: String = GOOD
        .lines()
        .filter(|line| {
            !["price", "strut_um", "guide_min_id_in", "crossing_mm", "expansion_limit_mm", "chart"]
                .iter()
                .any(|key| line.starts_with(key))
        })
        .map(|line| format!("{line}\n"))
        .collect();
    let product = product::read("fell.toml", &text).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
    assert_eq!(product.diameters[0].chart, None);
    assert_eq!((product.strut_um, product.guide_min_id, product.price), (None, None, None));
}

#[test]
fn ten_faults_are_told_in_one_run() {
    let text = r#"schema = 2
id = "Fell"
name = 7
makr = "Lowfell (invented)"
kind = "drug-eluting stint"
strut_um = "78"
shaft_cm = 146
wire_in = 0.014

[[diameter]]
mm = 28
nominal_atm = 11
rated_burst_atm = 9
chart = [[9, 2.75], [8, 2.80]]
boxes = [ { length_mm = 290, ref = "", di = ["09521001275072"] } ]
"#;
    let faults = product::read("fell.toml", text).expect_err("ten faults and more");
    let begins = |line: usize| text.lines().nth(line - 1).and_then(|line| line.split(' ').next());
    let told: Vec<_> =
        faults.iter().map(|fault| (begins(fault.line).unwrap_or(""), fault.key.as_str())).collect();
    assert_eq!(
        told,
        [
            ("schema", "schema"),
            ("schema", "maker"), // is missing: told where the table begins
            ("id", "id"),
            ("name", "name"),
            ("makr", "makr"),
            ("kind", "kind"),
            ("strut_um", "strut_um"),
            ("mm", "diameter[1].mm"),
            ("rated_burst_atm", "diameter[1].rated_burst_atm"),
            ("chart", "diameter[1].chart[2]"),
            ("chart", "diameter[1].chart"), // no row at nominal
            ("boxes", "diameter[1].boxes[1].length_mm"),
            ("boxes", "diameter[1].boxes[1].ref"),
            ("boxes", "diameter[1].boxes[1].di[1]"),
        ],
        "{}",
        lines(&faults)
    );
    let text = lines(&faults);
    assert!(text.contains(": makr: is not known here; the nearest known one is \"maker\"\n"), "{text}");
    assert!(text.contains(": strut_um: expected a number, found the text \"78\"\n"), "{text}");
    assert!(text.contains("28 mm is out of range: 1 to 8 mm; a missing decimal point?"), "{text}");
}

#[test]
fn each_check_of_a_product_has_its_place() {
    for (from, to, at, key) in [
        // Charts: both columns rise strictly; nominal holds the label; a row stands at exactly rated burst.
        ("[9, 2.66]", "[8, 2.66]", "chart", "diameter[1].chart[2]"),
        ("[9, 2.66]", "[9, 2.62]", "chart", "diameter[1].chart[2]"),
        ("[11, 2.75]", "[11, 2.7500001]", "chart", "diameter[1].chart[4]"),
        ("[11, 2.75], ", "", "chart", "diameter[1].chart"),
        (", [18, 2.95]]", ", [17.5, 2.95]]", "chart", "diameter[1].chart"),
        ("[9, 2.66]", "[9, 2.66, 1]", "chart", "diameter[1].chart[2]"),
        ("[9, 2.66]", "[9, nan]", "chart", "diameter[1].chart[2]"),
        ("[18, 2.95]", "[18, 29.5]", "chart", "diameter[1].chart[8]"),
        ("nominal_atm = 11", "nominal_atm = 0", "nominal_atm", "diameter[1].nominal_atm"),
        ("rated_burst_atm = 18", "rated_burst_atm = 180", "rated_burst_atm", "diameter[1].rated_burst_atm"),
        // The limit is not below what the balloon does at rated burst (2.95).
        (
            "expansion_limit_mm = 3.40",
            "expansion_limit_mm = 2.94",
            "expansion_limit_mm",
            "diameter[1].expansion_limit_mm",
        ),
        // Check digits, and what may stand once only.
        ("09521001275293", "09521001275294", "{ length_mm = 29", "diameter[1].boxes[2].di[1]"),
        ("09521001275293", "09521001275071", "{ length_mm = 29", "diameter[1].boxes[2].di[1]"),
        ("length_mm = 29", "length_mm = 7.0", "{ length_mm = 29", "diameter[1].boxes[2].length_mm"),
        ("\"FL27529\"", "\" \"", "{ length_mm = 29", "diameter[1].boxes[2].ref"),
        // Believable numbers.
        ("mm = 2.75", "mm = 8.01", "mm", "diameter[1].mm"),
        ("mm = 2.75", "mm = 0.99", "mm", "diameter[1].mm"),
        ("length_mm = 29", "length_mm = 151", "{ length_mm = 29", "diameter[1].boxes[2].length_mm"),
        ("strut_um = 78", "strut_um = 0.078", "strut_um", "strut_um"),
        ("wire_in = 0.014", "wire_in = 0.36", "wire_in", "wire_in"),
        ("guide_min_id_in = 0.055", "guide_min_id_in = 1.42", "guide_min_id_in", "guide_min_id_in"),
        ("crossing_mm = 1.04", "crossing_mm = 0.041", "crossing_mm", "diameter[1].crossing_mm"),
        ("price = 900", "price = -1", "price", "price"),
        ("price = 900", "price = inf", "price", "price"),
        // Types, words and keys.
        ("id = \"fell\"", "id = \"fe ll\"", "id", "id"),
        ("price = 900", "verified = \"yes\"", "price", "verified"),
        ("price = 900", "colour = \"red\"", "price", "colour"),
        ("crossing_mm", "crosing_mm", "crossing_mm", "diameter[1].crosing_mm"),
        ("length_mm = 29", "lenght_mm = 29", "{ length_mm = 29", "diameter[1].boxes[2].lenght_mm"),
        (
            "di = [\"09521001275293\"]",
            "di = \"09521001275293\"",
            "{ length_mm = 29",
            "diameter[1].boxes[2].di",
        ),
    ] {
        let text = changed(from, to);
        let faults = product::read("fell.toml", &text).expect_err(&format!("{from} -> {to}"));
        let told: Vec<_> = faults.iter().map(|fault| (fault.line, fault.key.as_str())).collect();
        assert!(told.contains(&(line_of(GOOD, at), key)), "{from} -> {to}: {}", lines(&faults));
    }
}

#[test]
fn a_missing_key_is_told_at_the_head_of_its_table() {
    for (line, head, key) in [
        ("schema = 1\n", "schema", "schema"),
        ("name = \"Fell\"\n", "schema", "name"),
        ("material = \"cobalt-chromium\"\n", "schema", "material"),
        ("shaft_cm = 146\n", "schema", "shaft_cm"),
        ("mm = 2.75\n", "[[diameter]]", "diameter[1].mm"),
        ("nominal_atm = 11\n", "[[diameter]]", "diameter[1].nominal_atm"),
        (", di = [\"09521001275293\"]", "{ length_mm = 29", "diameter[1].boxes[2].di"),
    ] {
        let text = changed(line, if line.ends_with('\n') { "\n" } else { "" });
        assert_eq!(places(&text), [(line_of(GOOD, head), key.to_string())], "{line}");
    }
}

#[test]
fn rows_past_rated_burst_are_checked_and_never_used() {
    let text = changed("[18, 2.95]]", "[18, 2.95], [20, 3.00]]");
    let product = product::read("fell.toml", &text).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
    let chart = product.diameters[0].chart.as_ref().unwrap();
    assert_eq!(chart.rows.last().map(|row| row.0.atm()), Some(18.0));
    assert_eq!(chart.at_rated_burst().mm(), 2.95);
    let text = changed("[18, 2.95]]", "[18, 2.95], [20, 2.95]]");
    assert_eq!(places(&text), [(line_of(GOOD, "chart"), "diameter[1].chart[9]".into())]);
}

#[test]
fn without_a_chart_the_limit_is_held_against_the_label() {
    let chart = GOOD.lines().find(|line| line.starts_with("chart")).unwrap();
    let bare = changed(chart, "");
    assert!(product::read("fell.toml", &bare.replace("= 3.40", "= 2.75")).is_ok());
    let text = bare.replace("expansion_limit_mm = 3.40", "expansion_limit_mm = 2.74");
    assert_eq!(
        places(&text),
        [(line_of(GOOD, "expansion_limit_mm"), "diameter[1].expansion_limit_mm".into())]
    );
}

#[test]
fn a_diameter_stands_once_and_the_place_of_the_first_is_told() {
    let second = GOOD[GOOD.find("[[diameter]]").unwrap()..].replace("09521001275", "09521002275");
    let second =
        second.replace("09521002275071", "09521002275070").replace("09521002275293", "09521002275292");
    let faults = product::read("fell.toml", &format!("{GOOD}{second}")).expect_err("2.75 twice");
    let first = line_of(GOOD, "mm");
    let again = GOOD.lines().count() + first + 1 - line_of(GOOD, "[[diameter]]");
    assert_eq!(
        lines(&faults),
        format!("fell.toml:{again}: diameter[2].mm: the diameter 2.75 is in line {first} already\n")
    );
}

#[test]
fn broken_toml_gives_file_and_line() {
    let text = changed("name = \"Fell\"", "name = \"Fell");
    let faults = product::read("a/fell.toml", &text).expect_err("an open quote");
    assert_eq!(
        (faults[0].file.as_str(), faults[0].line),
        ("a/fell.toml", line_of(GOOD, "name")),
        "{}",
        lines(&faults)
    );
    let text = changed("price = 900", "strut_um = 79");
    let faults = product::read("fell.toml", &text).expect_err("a key twice");
    assert_eq!(faults[0].line, line_of(GOOD, "price"), "{}", lines(&faults));
}

#[test]
fn from_broken_toml_nothing_is_concluded() {
    // Two slips of syntax, and a shaft that would be a fault if the tree were read.
    let text = changed("price = 900", "price = 9 00").replace("strut_um = 78", "strut_um = 08");
    let text = text.replace("shaft_cm = 146", "shaft_cm = true");
    let faults = product::read("fell.toml", &text).expect_err("two slips of syntax");
    let told: Vec<_> = faults.iter().map(|fault| fault.line).collect();
    assert_eq!(told, ["strut_um", "price"].map(|at| line_of(GOOD, at)), "{}", lines(&faults));
}

#[test]
fn what_two_products_share_names_both_places() {
    let other = GOOD.replace("FL", "SK").replace("09521001275293", "00000012345670");
    let files = [("fell.toml".to_string(), GOOD.to_string()), ("skerry.toml".to_string(), other)];
    let faults = catalogue::read(&files).expect_err("one id, one identifier");
    let [id, di] = ["id", "{ length_mm = 7"].map(|at| line_of(GOOD, at));
    assert_eq!(
        lines(&faults),
        format!(
            "skerry.toml:{id}: id: the id \"fell\" belongs to another product already: fell.toml:{id}\n\
             skerry.toml:{di}: diameter[1].boxes[1].di[1]: 09521001275071 belongs to another product already: \
             fell.toml:{di}\n"
        )
    );
}

#[test]
fn faults_of_all_files_come_together() {
    let files = [
        ("fell.toml".to_string(), changed("strut_um = 78", "strut_um = true")),
        ("x/guides.toml".to_string(), "[[guide]]\nfr = 6\ninner_in = 0.08\n".to_string()),
    ];
    let faults = catalogue::read(&files).expect_err("two faults");
    let told: Vec<_> = faults.iter().map(|fault| (fault.file.as_str(), fault.line)).collect();
    // 6 Fr is 2.00 mm outside (1 Fr = 1/3 mm); a bore of 0.08 in is 2.03 mm.
    assert_eq!(told, [("fell.toml", line_of(GOOD, "strut_um")), ("x/guides.toml", 3)]);
}

#[test]
fn kind_other_has_boxes_and_no_diameters() {
    let text = "schema = 1\nid = \"footpath\"\nname = \"Footpath\"\nmaker = \"Harrowmoor (invented)\"\nkind = \"other\"\n\
                boxes = [ { ref = \"FP-180\", di = [\"09521201000015\"] } ]\n";
    let product = product::read("footpath.toml", text).unwrap_or_else(|faults| panic!("{}", lines(&faults)));
    assert_eq!((product.sundries.len(), product.diameters.len()), (1, 0));
    assert_eq!(product.sundries[0].reference, "FP-180");
    let with_diameter = format!("{text}[[diameter]]\nmm = 3\n");
    assert_eq!(places(&with_diameter), [(7, "diameter".into())]);
    let sized = changed("price = 900", "boxes = []");
    assert_eq!(places(&sized), [(11, "boxes".into())]);
}

#[test]
fn the_demo_room_has_what_it_is_there_to_show() {
    use boxcall::measure::Kind;
    let catalogue = demo_catalogue();
    let of = |kind| catalogue.products.iter().filter(move |product| product.kind == kind);
    assert!(of(Kind::DrugElutingStent).count() >= 4);
    assert!(of(Kind::DrugElutingStent).any(|product| !product.verified));
    let lacking = |product: &catalogue::Product| {
        product.diameters.iter().any(|row| row.chart.is_none() || row.expansion_limit.is_none())
    };
    assert!(of(Kind::DrugElutingStent).any(lacking));
    for (kind, at_least) in [
        (Kind::BareMetalStent, 1),
        (Kind::BioresorbableScaffold, 1),
        (Kind::CoveredStent, 1),
        (Kind::NonCompliantBalloon, 2),
        (Kind::SemiCompliantBalloon, 1),
        (Kind::Other, 4),
    ] {
        assert!(of(kind).count() >= at_least, "{kind}");
    }
    // Some covered stent needs more than the 6 Fr guide gives.
    let six = catalogue.guide(boxcall::units::French::new(6.0)).unwrap();
    assert!(of(Kind::CoveredStent).any(|product| product.guide_min_id.is_some_and(|bore| bore > six.inner)));
}

proptest::proptest! {
    /// However a file is mangled, reading it ends, and it is taken or its faults are told within its lines.
    #[test]
    fn a_mangled_file_is_taken_or_refused_with_places(
        cut in 0..GOOD.len(), length in 0..40usize, put in "[\\[\\]{}=\"0-9a-z., \n]{0,8}",
    ) {
        let text = format!("{}{put}{}", &GOOD[..cut], &GOOD[(cut + length).min(GOOD.len())..]);
        if let Err(faults) = product::read("fell.toml", &text) {
            let last = text.matches('\n').count() + 1;
            assert!(!faults.is_empty());
            assert!(faults.iter().all(|fault| (1..=last).contains(&fault.line)), "{}", lines(&faults));
        }
    }
}
