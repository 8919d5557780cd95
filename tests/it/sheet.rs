//! Products as a table: out and in again, faults by row and column, all or nothing.

use crate::program::boxcall;
use boxcall::catalogue::{self, Catalogue, demo, sheet};
use std::path::Path;
use std::process::Output;

fn demo_catalogue() -> Catalogue {
    let files: Vec<_> = demo::files().into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    catalogue::read(&files).unwrap()
}

fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn a_catalogue_comes_back_as_it_went() {
    let catalogue = demo_catalogue();
    let files =
        sheet::read("out.csv", &sheet::write(&catalogue)).unwrap_or_else(|faults| panic!("{}", faults[0]));
    let products: Vec<_> = files.iter().map(|file| file.product.clone()).collect();
    assert_eq!(products, catalogue.products);
    assert_eq!(sheet::changes(&catalogue, &files), Vec::<String>::new());
    assert_eq!(sheet::read("template.csv", &sheet::template()).unwrap().len(), 1);
}

#[test]
fn faults_have_their_row_and_their_column() {
    let good = sheet::template();
    let (head, row) = good.split_once('\n').unwrap();
    let row = row.trim_end();
    let second = row.replace("FL27529", "FL27520").replace("09521001275293", "09521001275200");
    for (table, line, column) in [
        (format!("{head}\n{}\n", row.replace(",11,18,", ",11,9,")), 2, "rated_burst_atm"),
        (format!("{head}\n{row}\n\n{}\n", second.replace(",29,FL", ",much,FL")), 4, "length_mm"),
        (format!("{head}\n{row}\n{}\n", second.replace("5200", "5201").replace(",29,FL", ",20,FL")), 3, "di"),
        (format!("{head}\n{row}\n{second}\n"), 3, "length_mm"),
        (
            format!("{head}\n{row}\n{}\n", second.replace("Lowfell", "Highmoor").replace(",29,FL", ",20,FL")),
            3,
            "maker",
        ),
        (format!("{head}\n{}\n", row.replace("drug-eluting stent", "drug eluting stent")), 2, "kind"),
        (format!("{head}\n{}\n", row.replace("8:2.62", "8=2.62")), 2, "chart"),
        (format!("{head}\n{}\n", row.replace("11:2.75", "11:2.74")), 2, "chart"),
        (format!("{head}\n{}\n", row.replace("146,", ",")), 2, "shaft_cm"),
        (format!("{head}\n{}\n", row.replace(",yes,", ",perhaps,")), 2, "verified"),
        (format!("{head}\n{}\n", row.replace("fell,", ",")), 2, "product"),
    ] {
        let faults = sheet::read("in.csv", &table).unwrap_err();
        let told: Vec<_> = faults.iter().map(|fault| (fault.line, fault.key.as_str())).collect();
        // A rated burst pressure that is wrong leaves the chart without its row as well.
        assert_eq!(told[0], (line, column), "{table}{told:?}");
        assert!(told.len() == 1 || column == "rated_burst_atm", "{told:?}");
    }
    let faults = sheet::read("in.csv", "product;name;maker\n").unwrap_err();
    assert!(faults[0].message.contains("commas"));
    let faults = sheet::read("in.csv", "product,name,maker,kind,reff,di\n").unwrap_err();
    assert!(faults[0].message.contains("\"ref\""), "{}", faults[0]);
}

#[test]
fn nothing_is_written_before_it_is_asked_for_and_nothing_by_halves() {
    let folder = tempfile::tempdir().unwrap();
    let products = folder.path().join("products");
    std::fs::create_dir(&products).unwrap();
    // The file's name need not be the product's id.
    let own = products.join("our-stent.toml");
    let before = sheet::read("x", &sheet::template()).unwrap().remove(0).text;
    std::fs::write(&own, &before).unwrap();
    let table = folder.path().join("in.csv");
    let changed = sheet::template().replace("3.40", "3.75").replace("FL27529", "FL27529B");
    std::fs::write(&table, &changed).unwrap();
    let load = |more: &[&str]| {
        let mut words =
            vec!["catalogue", "load", table.to_str().unwrap(), "--catalogue", products.to_str().unwrap()];
        words.extend(more);
        boxcall(&words)
    };
    let kept = |path: &Path| std::fs::read_to_string(path).unwrap();
    let looked = load(&[]);
    assert!(looked.status.success(), "{}", text(&looked));
    let told = text(&looked);
    assert!(
        told.contains("FL27529B is new") && told.contains("FL27529 goes") && told.contains("--write"),
        "{told}"
    );
    assert_eq!(kept(&own), before);
    // A second product that takes the first one's identifier: neither is written.
    let (head, row) = changed.split_once('\n').unwrap();
    std::fs::write(&table, format!("{head}\n{row}{}", row.replace("fell", "skerry"))).unwrap();
    let refused = load(&["--write"]);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(kept(&own), before);
    assert_eq!(std::fs::read_dir(&products).unwrap().count(), 1);
    std::fs::write(&table, &changed).unwrap();
    assert!(load(&["--write"]).status.success());
    assert!(kept(&own).contains("FL27529B"));
    assert_eq!(std::fs::read_dir(&products).unwrap().count(), 1);
    assert!(text(&load(&[])).contains("nothing changes"));
}
