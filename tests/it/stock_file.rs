//! The stock file, and the demo room's own.

use boxcall::catalogue::{self, Catalogue, InDate, Owner, demo, stock};
use boxcall::intake::FileFault;
use boxcall::policy;
use chrono::NaiveDate;

fn catalogue() -> Catalogue {
    let files: Vec<_> = demo::files().into_iter().map(|(name, text)| (name.into(), text.into())).collect();
    catalogue::read(&files).unwrap()
}

fn read(text: &str) -> Result<stock::Stock, Vec<FileFault>> {
    stock::read("stock.csv", text, &catalogue())
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

#[test]
fn columns_stand_in_any_order_and_identifiers_are_normalised() {
    let text = "\u{feff}owner,count,shelf,use_by,serial,lot,di\r\n\
                borrowed from Lab 3,2,\"cupboard 2, shelf C\",2027-05-31,,L1,9521001275293\r\n\
                ,1,A,2027-06-30,S9,L2,09521001275071\n";
    let stock = read(text).unwrap();
    assert_eq!(stock.cautions, []);
    let first = &stock.pieces[0];
    assert_eq!(
        (first.di.as_str(), first.count, first.shelf.as_str()),
        ("09521001275293", 2, "cupboard 2, shelf C")
    );
    assert_eq!((first.serial.clone(), first.use_by), (None, Some(day("2027-05-31"))));
    assert_eq!(first.owner, Owner::Borrowed("Lab 3".into()));
    assert_eq!((stock.pieces[1].owner.clone(), stock.pieces[1].serial.as_deref()), (Owner::Own, Some("S9")));
}

#[test]
fn every_fault_has_its_line_and_column() {
    let text = "di,lot,serial,use_by,shelf,count,owner\n\
                09521001275294,L1,,2027-05-31,A,1,own\n\
                09521001275293,,,2027-5-31,A,1.5,\n\
                \n\
                09521001275293,L1,,2027-02-29,,-1,borrowed\n\
                09521001275293,L1,,2027-02-28,A\n\
                09521001275293,L1,,,A,,mine\n";
    let told: Vec<_> = read(text).unwrap_err().into_iter().map(|fault| (fault.line, fault.key)).collect();
    let expected = [
        (2, "di"),
        (3, "lot"),
        (3, "use_by"),
        (3, "count"),
        (5, "shelf"),
        (5, "use_by"),
        (5, "count"),
        (5, "owner"),
        (6, ""),
        (7, "use_by"),
        (7, "count"),
        (7, "owner"),
    ];
    assert_eq!(told, expected.map(|(line, column)| (line, column.to_string())));
}

#[test]
fn a_header_is_held_against_the_known_columns() {
    let told = |header: &str| read(header).unwrap_err().iter().map(FileFault::to_string).collect::<Vec<_>>();
    assert_eq!(
        told("di,lot,serial,useby,shelf,count\n"),
        [
            "stock.csv:1: useby: no such column; the nearest known one is \"use_by\"",
            "stock.csv:1: use_by: this column is missing"
        ]
    );
    assert_eq!(told("di,lot,serial,use_by,shelf,count,lot\n"), ["stock.csv:1: lot: stands twice"]);
    assert_eq!(
        told("di;lot;serial;use_by;shelf;count\n"),
        ["stock.csv:1: semicolons stand between the columns: save the table as CSV with commas"]
    );
    assert_eq!(told("").len(), 6);
}

#[test]
fn an_identifier_that_no_product_has_is_a_caution() {
    // 0 952 9999 000 01: check digit by hand, 3 × (0+5+9+9+0+0+1) + (9+2+9+9+0+0) = 72 + 29 = 101, so 9.
    let text = "di,lot,serial,use_by,shelf,count\n09529999000019,L1,S1,2027-05-31,A,2\n";
    let stock = read(text).unwrap();
    assert_eq!(stock.pieces.len(), 1);
    let codes: Vec<_> = stock.cautions.iter().map(|caution| caution.code.name()).collect();
    assert_eq!(codes, ["unknown-identifier", "serial-count"]);
    assert!(stock.cautions[0].message.starts_with("stock.csv:2: di: "), "{}", stock.cautions[0].message);
}

#[test]
fn what_is_written_reads_back() {
    let stock = read(demo::stock()).unwrap();
    assert_eq!(read(&stock::write(&stock.pieces)), Ok(stock));
}

#[test]
fn pieces_count_up_to_and_on_their_use_by_day_and_identifiers_add_up() {
    let catalogue = catalogue();
    let pieces = read(demo::stock()).unwrap().pieces;
    let count = |product: &str, reference: &str, today: &str| {
        let product = catalogue.product(product).unwrap();
        let mut packs = product.diameters.iter().flat_map(|row| &row.boxes);
        let pack = packs.find(|pack| pack.reference == reference).unwrap();
        InDate::new(&pieces, day(today)).count(&pack.di)
    };
    // The rows stand in the list CHOSEN of tests/reference/demo_catalogue.py.
    assert_eq!(count("fell", "FL30029", "2026-11-25"), 2);
    assert_eq!(count("fell", "FL30029", "2026-12-19"), 2);
    assert_eq!(count("fell", "FL30029", "2026-12-20"), 1);
    assert_eq!(count("fell", "FL35029", "2026-11-25"), 1);
    assert_eq!(count("fell", "FL27534", "2026-11-25"), 0);
    // Two under one identifier and one under the second.
    assert_eq!(count("holm", "HM30019", "2026-11-25"), 3);
    assert_eq!(count("oxbow", "OX30021", "2026-11-25"), 0);
}

#[test]
fn the_demo_stock_has_something_of_everything() {
    let stock = read(demo::stock()).unwrap();
    assert_eq!(stock.cautions, []);
    let pieces = &stock.pieces;
    assert!((250..=350).contains(&pieces.len()), "{}", pieces.len());
    let today = day("2026-11-25");
    let between = |from: &str, to: &str| {
        pieces.iter().filter(|piece| (day(from)..=day(to)).contains(&piece.use_by.unwrap())).count()
    };
    assert!(between("2026-10-01", "2026-10-31") >= 5 && between("2026-12-01", "2026-12-31") >= 5);
    assert!(pieces.iter().any(|piece| !piece.in_date(today)));
    assert!(pieces.iter().any(|piece| piece.owner == Owner::Consigned));
    assert!(pieces.iter().any(|piece| matches!(piece.owner, Owner::Borrowed(_))));
}

#[test]
fn the_demo_protocol_wants_things_that_exist() {
    let catalogue = catalogue();
    let policy = policy::read("policy.toml", demo::policy()).unwrap();
    for par in &policy.par {
        let known = catalogue.products.iter().any(|product| {
            let sized =
                product.diameters.iter().flat_map(|row| row.boxes.iter().map(move |pack| (row, pack)));
            let sundry = product.sundries.iter().any(|sundry| sundry.reference == par.item);
            sundry
                || sized.into_iter().any(|(row, pack)| {
                    par.size() == Some((row.diameter, pack.length)) || pack.reference == par.item
                })
        });
        assert!(known, "{}", par.item);
    }
}

/// What spreadsheets do to an identifier, a quotation mark that was not closed, a tab inside a cell. Common practice, no
/// source.
#[test]
fn what_a_spreadsheet_or_a_slip_made_of_a_cell_is_said() {
    const HEAD: &str = "di,lot,serial,use_by,shelf,count\n";
    for (row, words) in [
        ("9.521E+12,L1,,2027-05-31,A,1\n", "a spreadsheet has made a number"),
        ("\"9,521E+12\",L1,,2027-05-31,A,1\n", "a spreadsheet has made a number"),
        ("09521001275293,L\t1,,2027-05-31,A,1\n", "begins with \"L\" holds a line break, a tab"),
        (
            "09521001275293,\"L1,,2027-05-31,A,1\n09521001275293,L2,,2027-05-31,A,1\n",
            "quotation mark is not closed",
        ),
    ] {
        let faults = read(&format!("{HEAD}{row}")).expect_err(row);
        assert!(faults.iter().any(|fault| fault.line == 2 && fault.message.contains(words)), "{faults:?}");
    }
}

#[test]
fn a_serial_number_that_stands_twice_is_a_caution() {
    let row = "09521001275293,L1,S1,2027-05-31,A,1\n";
    let gone = "09521001275293,L1,S2,2027-05-31,A,0\n09521001275293,L1,S2,2027-05-31,B,1\n";
    let stock = read(&format!("di,lot,serial,use_by,shelf,count\n{row}{row}{gone}")).expect("it reads");
    let told: Vec<_> =
        stock.cautions.iter().map(|caution| (caution.code.name(), caution.message.clone())).collect();
    let message = "stock.csv:3: serial: the serial number S1 names one piece, and stands in line 2 too";
    assert_eq!(told, [("serial-twice", message.to_string())]);
    assert_eq!(stock.pieces.len(), 4, "a caution stops nothing");
}
