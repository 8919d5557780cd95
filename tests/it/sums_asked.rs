//! The sums as they are asked for on the command line: bodies in a bore, the paper arithmetic, odd strings.

use crate::program::boxcall;
use boxcall::lesion::segment;

const CATALOGUES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");

fn asked(arguments: &[&str]) -> (Option<i32>, String) {
    let output = boxcall(arguments);
    (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned())
}

/// 0.071 in = 1.8034 mm (1 in = 25.4 mm by definition); two circles in a circle need d1 + d2, three equal ones
/// d (1 + 2/√3) = 2.1547 d (geometry).
#[test]
fn bodies_side_by_side_fit_or_do_not() {
    let guide = |ods: &[&str]| {
        let mut arguments = vec!["guide", "--bore-in", "0.071"];
        ods.iter().for_each(|od| arguments.extend(["--od", od]));
        asked(&arguments).0
    };
    assert_eq!(guide(&["0.9", "0.9"]), Some(0));
    assert_eq!(guide(&["0.9", "0.91"]), Some(1));
    assert_eq!(guide(&["0.83", "0.83", "0.83"]), Some(0));
    assert_eq!(guide(&["0.84", "0.84", "0.84"]), Some(1));
    assert_eq!(guide(&["0.5", "0.6", "0.5"]), Some(2));
    let both = ["guide", "--od", "0.9", "--bore-in", "0.071", "--guide", "6"];
    assert_eq!(asked(&both).0, Some(2), "one bore, not two");
    let unknown = ["guide", "--od", "0.9", "--catalogue", CATALOGUES, "--guide", "11"];
    assert_eq!(asked(&unknown).0, Some(1), "a gauge that is not in the catalogue");
}

/// The window of the distal EEM rule is 0.25 mm below the measure to the measure (@raber-2018).
#[test]
fn the_arithmetic_is_written_out_with_each_source_once() {
    let measures = "--method oct --distal-eem 3.0 --proximal-eem 3.5 --length 28 --explain";
    let mut arguments = vec!["fit", "--catalogue", CATALOGUES];
    arguments.extend(measures.split(' '));
    let (status, text) = asked(&arguments);
    assert_eq!(status, Some(0), "{text}");
    assert!(text.contains("3.00 - 0.25 = 2.75, up to 3.00"), "{text}");
    let (_, sources) = text.split_once("Sources:\n").expect("the sources come last");
    let sources: Vec<&str> = sources.lines().filter_map(|line| line.split_once(' ')).map(|s| s.1).collect();
    assert!(!sources.is_empty());
    for source in &sources {
        assert_eq!(text.matches(source).count(), 1, "{source}: {text}");
    }
    let mut unknown = arguments.clone();
    unknown.push("NO-SUCH-BOX");
    assert_eq!(asked(&unknown).0, Some(1));
}

/// AHA numbers (@austen-1975).
#[test]
fn a_segment_may_be_typed_as_it_is_spoken() {
    assert_eq!(segment::normal(" Left  main "), Some("5".into()));
    assert_eq!(segment::normal("proximal-LAD"), Some("6".into()));
    assert_eq!(segment::normal("12A"), Some("12a".into()));
    assert_eq!(segment::normal("LAD"), None, "which part of it is not said");
}

#[test]
fn odd_strings_are_refused_and_nothing_panics() {
    let odd = [
        "NaN", "nan", "inf", "-inf", "infinity", "1e308", "1e3", "-3", "0", "", " ", "3..0", "3.0.0", "3,,0",
        "3 mm 4", "three", "3x", "x3", "3x4x5", "0x10", "३", "3\u{a0}0", "1,000.0", "99999999999999999999",
        "--", "3/4", "3.0 kPa", "−3", "1_0",
    ];
    for text in odd {
        let lines: [Vec<String>; 5] = [
            vec!["branch".into(), "--law=finet".into(), format!("--mother={text}"), "--daughter-1=3".into()],
            vec![
                "expansion".into(),
                format!("--msa={text}"),
                "--proximal-area=7".into(),
                "--distal-area=6".into(),
                "--method=ivus".into(),
            ],
            vec!["guide".into(), format!("--od={text}"), "--bore-in=0.071".into()],
            vec![
                "post-dilate".into(),
                format!("--catalogue={CATALOGUES}"),
                format!("--to={text}"),
                "--within=20".into(),
            ],
            vec![
                "fit".into(),
                format!("--catalogue={CATALOGUES}"),
                "--method=oct".into(),
                format!("--distal-eem={text}"),
                "--length=20".into(),
            ],
        ];
        for line in lines {
            let line: Vec<&str> = line.iter().map(String::as_str).collect();
            let output = boxcall(&line);
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{line:?}: {told}");
            assert!(!told.contains("panicked") && !told.is_empty(), "{line:?}: {told}");
        }
    }
}

/// The demo's chart of 2.75: 12 atm 2.78, 14 atm 2.84 (catalogues/fell.toml). 2.80 lies at 12.67, so 13 gives 2.81.
/// 1 atm = 101.325 kPa by definition.
#[test]
fn a_whole_atmosphere_goes_up_only_below_the_ceiling() {
    let inflate = |ceiling: &str| {
        let line = "inflate --product fell --diameter 2.75 --to 2.80 --catalogue";
        let mut arguments: Vec<&str> = line.split(' ').collect();
        arguments.extend([CATALOGUES, "--ceiling", ceiling]);
        asked(&arguments).1
    };
    assert!(inflate("2.85").contains("at 13 atm: 2.81 mm"), "{}", inflate("2.85"));
    assert!(inflate("2.80").contains("at 12 atm: 2.78 mm"), "{}", inflate("2.80"));
    assert!(inflate("2.70").contains("no: above 2.70 mm"), "{}", inflate("2.70"));
    assert!(inflate("2.85").contains("1283 kPa"), "{}", inflate("2.85"));
}

/// DS 50 is AS 75 for a circle (geometry); 10 / cos 60° = 20; score: arc above 180 two points, thickness above 0.5
/// and length above 5 one each, strict (@fujino-2018).
#[test]
fn a_lesion_is_worked_out_by_groups() {
    let ask = |line: &str| {
        let (status, text) = asked(&line.split(' ').collect::<Vec<_>>());
        (status, serde_json::from_str::<serde_json::Value>(&text).unwrap_or_default())
    };
    let number = |answer: &serde_json::Value, key: &str| answer[key].as_f64().unwrap_or(f64::NAN);
    let (status, all) = ask(
        "lesion --json --mld 1.5 --reference 3 --lumen-area 4 --eem-area 10 --projected 10 --angle 60 --arc 181 \
         --thickness 0.51 --calcium-length 5.1",
    );
    assert_eq!(status, Some(0), "{all}");
    assert!((number(&all, "area_stenosis_percent") - 75.0).abs() < 1e-9, "{all}");
    assert!((number(&all, "plaque_burden_percent") - 60.0).abs() < 1e-9, "{all}");
    assert!((number(&all, "true_length_mm") - 20.0).abs() < 1e-9, "{all}");
    assert!(all["calcium_score"] == 4 && all["caution"].is_string(), "{all}");
    let (_, none) = ask("lesion --json --arc 180 --thickness 0.5 --calcium-length 5");
    assert!(none["calcium_score"] == 0 && none["caution"].is_null(), "{none}");
    for refused in
        ["lesion", "lesion --mld 1", "lesion --mld 3.1 --reference 3", "lesion --projected 9 --angle 90"]
    {
        assert_eq!(ask(refused).0, Some(2), "{refused}");
    }
}
