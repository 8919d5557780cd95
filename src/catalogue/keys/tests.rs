//! Whatever a product may say goes through each way that a product takes, and is lost on none.

use super::*;
use crate::catalogue::{Catalogue, Pack, product, sheet};
use proptest::prelude::*;

/// The template's product with some of its cells changed, by column; an empty one takes the cell out.
fn made(cells: &[(usize, String)]) -> String {
    let template = sheet::template();
    let (head, row) = template.trim_end().split_once('\n').unwrap();
    let mut row: Vec<String> = row.split(',').map(String::from).collect();
    for (column, cell) in cells {
        row[*column].clone_from(cell);
    }
    format!("{head}\n{}\n", row.join(","))
}

fn read(table: &str) -> sheet::File {
    let mut files = sheet::read("in.csv", table).unwrap_or_else(|faults| panic!("{table}{}", faults[0]));
    assert_eq!(files.len(), 1);
    files.remove(0)
}

fn catalogue(product: &Product) -> Catalogue {
    Catalogue { products: vec![product.clone()], ..Catalogue::default() }
}

/// Through a product file, through a table, and through a table made into a product file.
fn comes_back(product: &Product) {
    let text = sheet::text(product);
    assert_eq!(product::read("out.toml", &text).as_ref(), Ok(product), "{text}");
    let table = sheet::write(&catalogue(product));
    let file = read(&table);
    assert_eq!(&file.product, product, "{table}");
    assert_eq!(product::read("again.toml", &file.text).as_ref(), Ok(product), "{}", file.text);
    assert_eq!(sheet::changes(&catalogue(product), &[file]), Vec::<String>::new());
}

/// The compiler asks for every field here: one that no key fills shows as not known.
#[test]
fn the_template_fills_every_field_of_a_product() {
    let product = read(&sheet::template()).product;
    comes_back(&product);
    let Product {
        id,
        name,
        maker,
        kind,
        material,
        strut_um,
        shaft_cm,
        wire,
        guide_min_id,
        price,
        verified,
        diameters,
        sundries,
    } = product;
    assert!(verified && kind != Product::blank().kind && sundries.is_empty());
    assert!(![&id, &name, &maker].map(String::is_empty).contains(&true) && material.is_some());
    assert!(
        ![strut_um, shaft_cm, wire.map(Inches::inches), guide_min_id.map(Inches::inches), price]
            .contains(&None)
    );
    let [Platform { diameter, crossing, expansion_limit, pressures, chart, boxes }] = &diameters[..] else {
        panic!("{diameters:?}")
    };
    assert!(diameter.mm().is_finite() && ![*crossing, *expansion_limit].contains(&None));
    assert!(chart.as_ref().is_some_and(|chart| chart.rows.len() > 2));
    assert!(pressures.is_some_and(|Pressures { nominal, rated_burst }| nominal < rated_burst));
    let [Pack { length, reference, di }] = &boxes[..] else { panic!("{boxes:?}") };
    assert!(length.mm().is_finite() && !reference.is_empty() && di.len() == 1);
}

/// Another cell for each column, which a product may have beside the template's own cells.
fn other(column: &str) -> &'static str {
    match column {
        "product" => "scree",
        "name" => "Scree",
        "maker" => "Highmoor (invented)",
        "kind" => "covered stent",
        "material" => "steel",
        "strut_um" => "90",
        "shaft_cm" => "140",
        "wire_in" => "0.018",
        "guide_min_id_in" => "0.07",
        "price" => "950.5",
        "verified" => "no",
        "crossing_mm" => "1.1",
        "expansion_limit_mm" => "3.75",
        "chart" => "8:2.6 11:2.75 18:3",
        "length_mm" => "28",
        "ref" => "FL27528",
        "di" => "09521001275293 09521001275286",
        // What the chart ties together is changed together.
        "diameter_mm" | "nominal_atm" | "rated_burst_atm" => "",
        _ => panic!("a new key needs another cell here: {column}"),
    }
}

#[test]
fn a_cell_that_changes_is_a_change_of_the_product_and_is_told() {
    let before = read(&sheet::template()).product;
    for (place, column) in sheet::columns().into_iter().enumerate() {
        let cells = match column {
            "diameter_mm" => vec![(place, "2.62".to_string()), (place + 3, "8".into())],
            "nominal_atm" => vec![(place, "14".to_string()), (place - 3, "2.84".into())],
            "rated_burst_atm" => vec![(place, "14".to_string())],
            _ => vec![(place, other(column).to_string())],
        };
        let file = read(&made(&cells));
        assert_ne!(file.product, before, "{column}");
        comes_back(&file.product);
        let told = sheet::changes(&catalogue(&before), std::slice::from_ref(&file));
        let told = told.join("\n");
        let expected = match column {
            "product" => "new, 1 box".to_string(),
            "ref" => "is new".to_string(),
            column => format!(": {column}: "),
        };
        assert!(told.contains(&expected), "{column}: {told}");
    }
}

proptest! {
    #[test]
    fn a_product_with_any_of_its_keys_comes_back(
        numbers in prop::collection::vec(prop::option::of(0.0..1.0f64), 7),
        texts in prop::collection::vec("[ -~æøåµ]{0,12}", 3),
        verified: bool,
        rises in prop::option::of(prop::collection::vec(0.01..0.2f64, 4)),
    ) {
        let mut product = read(&sheet::template()).product;
        product.verified = verified;
        product.name = format!("n{}", texts[0].trim());
        product.maker = format!("m{}", texts[1].trim());
        product.material = Some(format!("o{}", texts[2].trim()));
        let within = |number: Option<f64>, [least, most]: [f64; 2]| number.map(|part| least + part * (most - least));
        let kept = |number: Option<f64>, otherwise| number.or((verified).then_some(otherwise));
        product.strut_um = within(numbers[0], [20.0, 600.0]);
        product.shaft_cm = kept(within(numbers[1], [20.0, 400.0]), 145.0);
        product.wire = kept(within(numbers[2], [0.005, 0.045]), 0.014).map(Inches::new);
        product.guide_min_id = within(numbers[3], BORE_IN).map(Inches::new);
        product.price = within(numbers[4], [0.0, 1e6]);
        let platform = &mut product.diameters[0];
        platform.crossing = within(numbers[5], [0.2, 4.0]).map(Diameter::from_mm);
        platform.expansion_limit = within(numbers[6], [4.0, 12.0]).map(Diameter::from_mm);
        platform.chart = rises.map(|rises| {
            let mut row = (11.0, platform.diameter.mm());
            let mut rows = vec![row];
            for rise in rises {
                row = (row.0 + 10.0 * rise, row.1 + rise);
                rows.push(row);
            }
            platform.pressures = Some(Pressures::of(11.0, row.0));
            let rows = rows.into_iter().map(|(atm, mm)| (Pressure::from_atm(atm), Diameter::from_mm(mm)));
            Chart { rows: rows.collect() }
        });
        comes_back(&product);
    }
}

/// A wire has a length or none, and no diameter.
#[test]
fn a_wire_comes_back() {
    for length in [None, Some(Length::from_mm(1800.0))] {
        let di = vec![DeviceId::parse("09521001275286").unwrap()];
        let sundries = vec![Sundry { length, reference: "RL-180".into(), di }];
        let kind = Kind::Other;
        comes_back(&Product { kind, sundries, ..Product::invented("rill", Vec::new()) });
    }
}
