//! Where on a label something stands, in words of the text printed beside the bars: people don't count bytes.
//!
//! Invariant: words only; judges nothing.

use super::gs1_table::{self, Ai};

/// A GS1 field, such as `the use-by date (17)`; one that is seldom on a device's box by its title in the GS1 table.
pub(super) fn gs1(ai: &Ai) -> String {
    let name = match ai.code.as_str() {
        "00" => "the pallet number",
        "01" => "the GTIN",
        "02" => "the GTIN of the contents",
        "10" => "the lot",
        "11" => "the date made",
        "13" => "the packing date",
        "15" => "the best-before date",
        "16" => "the sell-by date",
        "17" => "the use-by date",
        "20" => "the variant",
        "21" => "the serial number",
        "22" => "the consumer variant",
        "30" => "the count",
        "37" => "the count of the contents",
        "240" => "the maker's part number",
        "241" => "the customer's part number",
        "250" => "the second serial number",
        "7003" => "the use-by date with its time",
        _ => return format!("the field ({}) {}", ai.code, ai.title),
    };
    format!("{name} ({})", ai.code)
}

/// A field of ISBT 128 by its identifier, such as `the lot (&,1)`.
pub(super) fn isbt(id: &str) -> String {
    let name = match id {
        "=/" => "the device identifier",
        "=," => "the serial number",
        "=>" | "&>" => "the use-by date",
        "=}" | "&}" => "the date made",
        "&,1" | "&)" => "the lot",
        "=" => "the donation number",
        _ => "the field",
    };
    format!("{name} ({id})")
}

/// What two symbols may not say in two ways: a code of GS1 or ISBT 128, or a name that several standards share.
pub(super) fn claimed(what: &str) -> String {
    match gs1_table::find(what) {
        Some(ai) => gs1(ai),
        None if what.starts_with(['=', '&']) => isbt(what),
        None => format!("the {what}"),
    }
}

/// With a capital, to begin a sentence.
pub(super) fn first_word(place: &str) -> String {
    let mut chars = place.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
