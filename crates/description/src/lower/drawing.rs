//! `[drawing]`: what the user's taste pins of the track diagram.

use super::table::{Table, kind_of};
use crate::model::{Drawing, LEVEL_MAX, Name};
use notice::{Diagnostic, Span, Spanned, code};
use toml::de::DeValue;

pub(super) fn drawing(mut table: Table<'_, '_>) -> Drawing {
    let drawing = Drawing {
        straight: table.names("straight").unwrap_or_default(),
        order: order(&mut table),
        levels: levels(&mut table),
    };
    table.close();
    drawing
}

/// `order = [["ice", "pier-2"], …]`: each list from left to right.
fn order(table: &mut Table<'_, '_>) -> Vec<Vec<Name>> {
    let Some(value) = table.value("order") else { return Vec::new() };
    let lists = value.get_ref().as_array().map(|lists| {
        lists
            .iter()
            .map(|list| Some((Span::from(list.span()), list.get_ref().as_array()?)))
            .collect::<Option<Vec<_>>>()
    });
    let Some(Some(lists)) = lists else {
        let help = "write order = [[\"left one\", \"right one\"]]".to_owned();
        table.wrong_kind(
            value.span().into(),
            "order",
            kind_of(value.get_ref()),
            "a list of lists of names",
            help,
        );
        return Vec::new();
    };
    lists
        .into_iter()
        .map(|(span, list)| {
            table.check_length("order", span, list.len());
            list.iter().filter_map(|item| table.name_from("order", item)).collect()
        })
        .collect()
}

/// `levels = { "pier lead" = 2 }`.
fn levels(table: &mut Table<'_, '_>) -> Vec<(Name, Spanned<i16>)> {
    let Some(value) = table.value("levels") else { return Vec::new() };
    let DeValue::Table(entries) = value.get_ref() else {
        let help = "write levels = { \"name of a track\" = 1 }".to_owned();
        table.wrong_kind(value.span().into(), "levels", kind_of(value.get_ref()), "a table of levels", help);
        return Vec::new();
    };
    let mut levels = Vec::new();
    for (key, level) in super::in_text_order(entries) {
        let span = Span::from(level.span());
        let read = if let DeValue::Integer(number) = level.get_ref() {
            i16::from_str_radix(&number.as_str().replace('_', ""), number.radix()).ok()
        } else {
            None
        };
        match read.filter(|read| (-LEVEL_MAX..=LEVEL_MAX).contains(read)) {
            Some(read) => {
                let name: &str = key.get_ref();
                levels.push((Spanned::new(name.to_owned(), key.span().into()), Spanned::new(read, span)));
            }
            None => table.note(
                Diagnostic::error(code::NUMBER_OUT_OF_RANGE, span, "a level is a whole number").help(
                    format!(
                        "write a number from -{LEVEL_MAX} to {LEVEL_MAX}; 0 is the level of the first line"
                    ),
                ),
            ),
        }
    }
    levels
}
