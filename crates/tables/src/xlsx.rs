//! All tables as one workbook: a sheet for each, its heads above a line and kept in sight, numbers as numbers.
//!
//! Words are written as words, whatever they begin with, so that none is run as a formula. The date of the file is a fixed one:
//! the same plan gives the same bytes.

use crate::table::{Cell, Table};
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

/// The most letters that a cell of a workbook holds.
///
/// # Source
/// ISO/IEC 29500-1, 18.3.1.96 and the limits that programs publish: 32,767 letters.
const LETTERS_MAX: usize = 32_767;

/// The widest column, in letters; longer words are wrapped.
const WIDTH_MAX: f64 = 60.0;

/// The workbook could not be written. Always a fault of this program, never of the layout.
#[derive(Debug, thiserror::Error)]
#[error("the workbook could not be written, which is a fault in this program and not in the layout")]
pub struct Error(#[from] XlsxError);

/// The tables as one workbook, named for the layout.
///
/// # Errors
/// The writer refuses a sheet.
pub fn write(layout: &str, tables: &[Table]) -> Result<Vec<u8>, Error> {
    let mut workbook = Workbook::new();
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    let title: String = layout.chars().take(200).collect();
    workbook.set_properties(&DocProperties::new().set_title(&title).set_creation_datetime(&made));
    for table in tables {
        sheet(workbook.add_worksheet(), table)?;
    }
    Ok(workbook.save_to_buffer()?)
}

fn sheet(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    let head =
        Format::new().set_bold().set_border_bottom(FormatBorder::Medium).set_align(FormatAlign::Bottom);
    let words = Format::new().set_align(FormatAlign::Top).set_text_wrap();
    let number = Format::new().set_align(FormatAlign::Top);
    let length = Format::new().set_align(FormatAlign::Top).set_num_format("0.00");
    sheet.set_name(table.title)?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_landscape();
    sheet.set_repeat_rows(0, 0)?;
    for (at, column) in (0..).zip(&table.columns) {
        sheet.write_string_with_format(0, at, column.full_head(), &head)?;
        sheet.set_column_width(at, width(table, usize::from(at)))?;
    }
    let mut next = 1;
    for (row, cells) in (1u32..).zip(&table.rows) {
        for ((at, cell), column) in (0u16..).zip(cells).zip(&table.columns) {
            match cell {
                Cell::Empty => {}
                Cell::Text(text) => {
                    let text: String = text.chars().take(LETTERS_MAX).map(plain).collect();
                    sheet.write_string_with_format(row, at, text, &words)?;
                }
                // Every number of a plan is far below what a double holds exactly.
                #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
                Cell::Whole(whole) => {
                    sheet.write_number_with_format(row, at, *whole as f64, &number)?;
                }
                Cell::Decimal(decimal) => {
                    sheet.write_number_with_format(row, at, *decimal, &number)?;
                }
                Cell::Length(metres) => {
                    sheet.write_number_with_format(row, at, column.unit.of_metres(*metres), &length)?;
                }
            }
        }
        next = row + 1;
    }
    if table.left_out > 0 {
        sheet.write_string_with_format(
            next,
            0,
            format!("{} more rows are left out", table.left_out),
            &words,
        )?;
    }
    Ok(())
}

/// A letter as a cell can hold it.
fn plain(letter: char) -> char {
    if letter.is_control() && letter != '\n' { ' ' } else { letter }
}

/// How wide a column is set: as its longest cell, within reason.
fn width(table: &Table, at: usize) -> f64 {
    let letters = |cell: &Cell| match cell {
        Cell::Empty => 0,
        Cell::Text(text) => text.chars().count(),
        Cell::Whole(_) | Cell::Length(_) | Cell::Decimal(_) => 8,
    };
    let head = table.columns.get(at).map_or(0, |column| column.full_head().chars().count());
    let longest = table.rows.iter().filter_map(|row| row.get(at)).map(letters).max().unwrap_or(0);
    let longest = u16::try_from(longest.max(head)).unwrap_or(u16::MAX);
    (f64::from(longest) + 2.0).min(WIDTH_MAX)
}
