//! Which decimal mark the language of this computer has.
//!
//! Source: @cldr, by `tests/reference/decimal_marks.py`.

use crate::units::Decimal;

/// The languages whose mark is a comma.
const COMMA: &str = "af agq ast az bas be bg blo br bs ca cs cv da de dsb dua dyo el eo es et eu ewo ff fi fo fr fy gl \
    hr hsb ht hu hy ia id ie is it jgo jv ka kab kea kgp kk kkj kl ksf ku ky lb lij lld ln lo lt lu lv mgh mk mua nb \
    nl nmg nn nnh no nr pl ps pt rn ro ru rw sah sc se seh sg shi sk sl smn sq sr ss su sv tg tk tok tr ts tt tzm uk \
    uz ve vec vi wo yav yrl zgh";

/// Where a country differs from its language.
const COMMA_THERE: &str = "ar_DZ ar_LB ar_LY ar_MA ar_MR ar_TN en_AT en_BE en_CZ en_DE en_DK en_ES en_FI en_FR en_HU \
    en_ID en_IT en_NL en_NO en_PL en_PT en_RO en_SE en_SI en_SK en_ZA ms_BN ms_ID qu_BO sw_CD";
const POINT_THERE: &str =
    "de_CH de_LI es_BR es_BZ es_CU es_DO es_GT es_HN es_MX es_NI es_PA es_PE es_PR es_SV es_US it_CH";

/// The mark of a locale such as `de_AT.UTF-8`; a point where nothing is known of it.
pub fn decimal_of(locale: &str) -> Decimal {
    let name = locale.split(['.', '@']).next().unwrap_or_default();
    let language = name.split('_').next().unwrap_or_default();
    let among = |list: &str, word: &str| list.split_whitespace().any(|known| known == word);
    let comma = !among(POINT_THERE, name) && (among(COMMA_THERE, name) || among(COMMA, language));
    if comma { Decimal::Comma } else { Decimal::Point }
}

/// The mark out of the environment, as POSIX orders its variables; an empty one counts as none.
pub fn decimal(variable: impl Fn(&str) -> Option<String>) -> Decimal {
    let set = |name: &str| variable(name).filter(|value| !value.is_empty());
    set("LC_ALL")
        .or_else(|| set("LC_NUMERIC"))
        .or_else(|| set("LANG"))
        .map_or(Decimal::Point, |locale| decimal_of(&locale))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_locale_has_the_mark_of_the_repository() {
        let rows = include_str!("../../tests/reference/decimal_marks.tsv");
        let mut checked = 0;
        for (locale, mark) in rows.lines().filter_map(|row| row.split_once('\t')) {
            let wanted = if mark == "," { Decimal::Comma } else { Decimal::Point };
            assert_eq!(decimal_of(&format!("{locale}.UTF-8")), wanted, "{locale}");
            checked += 1;
        }
        assert!(checked > 500, "{checked} locales");
        assert_eq!(decimal_of("C.UTF-8"), Decimal::Point);
        assert_eq!(decimal_of("POSIX"), Decimal::Point);
    }

    #[test]
    fn the_variables_count_in_the_order_of_posix() {
        let of = |set: &[(&str, &str)]| {
            decimal(|name| {
                set.iter().find(|(known, _)| *known == name).map(|(_, value)| (*value).to_string())
            })
        };
        assert_eq!(of(&[("LANG", "de_DE.UTF-8")]), Decimal::Comma);
        assert_eq!(of(&[("LANG", "de_DE.UTF-8"), ("LC_NUMERIC", "C")]), Decimal::Point);
        assert_eq!(of(&[("LANG", "C"), ("LC_NUMERIC", "fr_FR@euro"), ("LC_ALL", "")]), Decimal::Comma);
        assert_eq!(of(&[("LC_NUMERIC", "fr_FR"), ("LC_ALL", "en_GB.UTF-8")]), Decimal::Point);
        assert_eq!(of(&[]), Decimal::Point);
    }
}
