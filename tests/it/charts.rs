//! Pressure charts and units against `tests/data/sizing_cases.tsv`.

use crate::cases::{Row, rows};
use boxcall::catalogue::{Inflate, Platform, product};
use boxcall::intake::FileFault;
use boxcall::units::{Diameter, French, Inches, Pressure};

/// A product whose one diameter, 3.00, has the chart of the row.
fn platform(row: &Row) -> Result<Platform, Vec<FileFault>> {
    let pairs: Vec<(&str, &str)> =
        row.input("chart").unwrap().split(',').map(|pair| pair.split_once(':').unwrap()).collect();
    let chart: Vec<String> = pairs.iter().map(|(atm, mm)| format!("[{atm}, {mm}]")).collect();
    let nominal = pairs.iter().find(|(_, mm)| *mm == "3.00").unwrap().0;
    let rated = row.input("rbp").unwrap_or(pairs.last().unwrap().0);
    let text = format!(
        "schema = 1\nid = \"fell\"\nname = \"Fell\"\nmaker = \"Lowfell (invented)\"\n\
         kind = \"non-compliant balloon\"\nshaft_cm = 145\nwire_in = 0.014\n[[diameter]]\nmm = 3\n\
         nominal_atm = {nominal}\nrated_burst_atm = {rated}\nchart = [{}]\n\
         boxes = [{{ length_mm = 12, ref = \"FL30011\", di = [] }}]\n",
        chart.join(", ")
    );
    product::read("fell.toml", &text).map(|mut product| product.diameters.remove(0))
}

#[test]
fn the_inflate_rows_come_out_as_written() {
    for row in rows("inflate") {
        let read = platform(&row);
        if row.expected == "reject" {
            let faults = read.expect_err(&format!("{}: {}; {}", row.id, row.question, row.source));
            assert!(faults.iter().any(|fault| fault.key == "diameter[1].chart[3]"), "{}: {faults:?}", row.id);
            continue;
        }
        let platform = read.unwrap_or_else(|faults| panic!("{}: {faults:?}; {}", row.id, row.source));
        if row.question.starts_with("growth per atm") {
            let rows = &platform.chart.as_ref().unwrap().rows;
            let ((low, from), (high, to)) = (rows[0], rows[rows.len() - 1]);
            let growth = (to.mm() - from.mm()) / from.mm() * 100.0 / (high.atm() - low.atm());
            row.check(Some(growth));
        } else if let Some(atm) = row.number("p") {
            let answer = Inflate::at(&platform, Pressure::from_atm(atm));
            assert_eq!(answer.reachable, answer.diameter_mm.is_some(), "{}", row.id);
            row.check(answer.diameter_mm);
        } else {
            let answer = Inflate::to(&platform, Diameter::from_mm(row.number("d").unwrap()));
            assert_eq!(answer.reachable, answer.atm.is_some(), "{}", row.id);
            let whole = row.question.starts_with("whole-atmosphere");
            let rounded = answer.whole_atm(&platform).map(|(atm, _)| atm.atm());
            row.check(if whole { rounded } else { answer.atm });
        }
    }
}

#[test]
fn the_units_rows_come_out_as_written() {
    for row in rows("units") {
        let (value, unit) = row.inputs.split_once(' ').unwrap();
        let value: f64 = value.parse().unwrap();
        let answer = match unit {
            "atm" if row.question.starts_with("atm to kPa") => Pressure::from_atm(value).kpa(),
            "atm" if row.question.starts_with("atm to psi") => Pressure::from_atm(value).psi(),
            "psi" => value / Pressure::from_atm(1.0).psi(),
            "Fr" => French::new(value).diameter().mm(),
            "in" => Inches::new(value).diameter().mm(),
            _ => panic!("{}: {} is not known to this test", row.id, row.inputs),
        };
        row.check(Some(answer));
    }
}

/// The chart of the format's own example (design of the product file), 2.75.
fn example() -> Platform {
    let text =
        boxcall::catalogue::demo::files().into_iter().find(|(name, _)| *name == "fell.toml").unwrap().1;
    let product = product::read("fell.toml", text).unwrap();
    product.platform(Diameter::from_mm(2.75)).unwrap().clone()
}

#[test]
fn an_answer_on_a_row_is_not_interpolated() {
    let platform = example();
    for (atm, mm) in [(8.0, 2.62), (11.0, 2.75), (18.0, 2.95)] {
        let there = Inflate::at(&platform, Pressure::from_atm(atm));
        assert_eq!((there.diameter_mm, there.reachable, there.interpolated), (Some(mm), true, false));
        let back = Inflate::to(&platform, Diameter::from_mm(mm));
        assert_eq!((back.atm, back.reachable, back.interpolated), (Some(atm), true, false));
    }
    // Half way from [12, 2.78] to [14, 2.84].
    let between = Inflate::to(&platform, Diameter::from_mm(2.81));
    assert!(between.interpolated && (between.atm.unwrap() - 13.0).abs() < 1e-9);
}

/// There and back along every demo chart, in hundredths of an atmosphere: the pressure comes back, and both rise.
#[test]
fn a_chart_read_forth_and_back_is_the_same() {
    let files = boxcall::catalogue::demo::files().into_iter().map(|(name, text)| (name.into(), text.into()));
    let catalogue = boxcall::catalogue::read(&files.collect::<Vec<_>>()).unwrap();
    let charts =
        catalogue.products.iter().flat_map(|product| &product.diameters).filter_map(|row| row.chart.as_ref());
    for chart in charts {
        let (first, last) = (chart.rows[0].0.atm(), chart.rows[chart.rows.len() - 1].0.atm());
        let mut before = 0.0;
        for step in (first * 100.0) as u32..=(last * 100.0) as u32 {
            let atm = f64::from(step) / 100.0;
            let diameter = chart.diameter_at(Pressure::from_atm(atm)).unwrap();
            let back = chart.pressure_for(diameter).unwrap().atm();
            assert!((back - atm).abs() < 1e-9 && diameter.mm() > before, "{atm} atm: {diameter:?}, {back}");
            before = diameter.mm();
        }
        assert_eq!(chart.at_rated_burst().mm(), before);
    }
}

#[test]
fn out_of_reach_the_value_asked_for_is_null() {
    let platform = example();
    for mm in [2.61, 2.96, f64::NAN] {
        let answer = Inflate::to(&platform, Diameter::from_mm(mm));
        assert_eq!((answer.atm, answer.reachable, answer.interpolated), (None, false, false), "{mm}");
        assert_eq!(answer.whole_atm(&platform), None);
    }
    for atm in [7.9, 18.1] {
        let answer = Inflate::at(&platform, Pressure::from_atm(atm));
        assert_eq!((answer.atm, answer.diameter_mm), (Some(atm), None));
        assert!(!answer.reachable && !answer.interpolated);
    }
    let bare = Platform { chart: None, ..platform };
    let answer = serde_json::to_value(Inflate::to(&bare, Diameter::from_mm(2.75))).unwrap();
    let expected = serde_json::json!({ "atm": null, "diameter_mm": 2.75, "nominal_atm": 11.0,
        "rated_burst_atm": 18.0, "reachable": false, "interpolated": false, "within_ceiling": null });
    assert_eq!(answer, expected);
}

#[test]
fn a_gauge_is_set_to_the_next_whole_atmosphere() {
    let platform = example();
    // 2.85 lies between [14, 2.84] and [16, 2.90]: 14.33 atm, so 15, where the chart gives 2.87.
    let answer = Inflate::to(&platform, Diameter::from_mm(2.85));
    let (whole, there) = answer.whole_atm(&platform).unwrap();
    assert_eq!(whole.atm(), 15.0);
    assert!((there.unwrap().mm() - 2.87).abs() < 1e-9);
    // On a row nothing is rounded up.
    let answer = Inflate::to(&platform, Diameter::from_mm(2.90));
    assert_eq!(answer.whole_atm(&platform).unwrap().0.atm(), 16.0);
}
