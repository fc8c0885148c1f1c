//! `[layout]`, `[numbering]` and `[system]`.

use super::table::Table;
use crate::model::{AddressScheme, LayoutFacts, Numbering, System};
use measure::{Length, Units};
use notice::{Diagnostic, Spanned, code};

/// The words for the ways of counting accessory addresses.
pub(super) const ADDRESS_SCHEMES: [(&str, AddressScheme); 3] = [
    ("linear", AddressScheme::Linear),
    ("zero-based", AddressScheme::ZeroBased),
    ("blocks-of-256", AddressScheme::BlocksOf256),
];

pub(super) fn layout(mut table: Table<'_, '_>) -> LayoutFacts {
    let facts = LayoutFacts {
        name: table.needed_name("name").map(|name| name.value).unwrap_or_default(),
        scale: table.name("scale").map(|scale| scale.value),
        units: table
            .choice("units", &[("metric", Units::Metric), ("imperial", Units::Imperial)])
            .unwrap_or_default(),
        longest_train: table.quantity("longest_train", Length::read),
        date: table.text_or_date("date"),
        revision: table.name("revision").map(|revision| revision.value),
    };
    table.close();
    facts
}

pub(super) fn numbering(mut table: Table<'_, '_>) -> Numbering {
    let usual = Numbering::default();
    let first = table.number("first", code::NUMBER_OUT_OF_RANGE);
    let spare = table.number("spare_per_line", code::NUMBER_OUT_OF_RANGE);
    table.close();
    Numbering {
        first: first.map_or(usual.first, |first| first.value),
        spare_per_line: spare.map_or(usual.spare_per_line, |spare| spare.value),
    }
}

pub(super) fn system(mut table: Table<'_, '_>) -> System {
    let usual = System::default();
    let address_scheme = table.choice("address_scheme", &ADDRESS_SCHEMES);
    let last_address = table.number("last_address", code::ADDRESS_OUT_OF_RANGE);
    let normal_is = table.number("normal_is", code::NUMBER_OUT_OF_RANGE);
    let cabs_in_use = table.numbers("cabs_in_use", code::NUMBER_OUT_OF_RANGE);
    let taken = taken(&mut table);
    table.close();
    System {
        address_scheme: address_scheme.unwrap_or(usual.address_scheme),
        last_address: last_address.map_or(usual.last_address, |last| last.value),
        last_address_at: last_address.map(|last| last.span),
        normal_is: normal_is.map_or(usual.normal_is, |bit| u8::from(bit.value == 1)),
        cabs_in_use,
        taken,
    }
}

/// `taken`: single addresses and ranges, as text.
fn taken(table: &mut Table<'_, '_>) -> Vec<Spanned<(u16, u16)>> {
    let mut ranges = Vec::new();
    for name in table.names("taken").unwrap_or_default() {
        let (low, high) = name.value.split_once(['-', '–']).unwrap_or((&name.value, &name.value));
        match (low.trim().parse::<u16>(), high.trim().parse::<u16>()) {
            (Ok(low), Ok(high)) if 1 <= low && low <= high && high <= 2048 => {
                ranges.push(Spanned::new((low, high), name.span));
            }
            _ => {
                let message = format!("`{}` is not a range of addresses", name.value);
                let note = Diagnostic::error(code::RANGE_UNREADABLE, name.span, message)
                    .help("write the lower address, a hyphen and the higher one, such as \"100-120\"");
                table.note(note);
            }
        }
    }
    ranges
}
