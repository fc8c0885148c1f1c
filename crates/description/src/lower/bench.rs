//! `[bench]` and `[place.*]`.

use super::table::Table;
use crate::model::{Bench, BenchRun, Description, Name, Place};
use measure::{Length, Share};
use notice::{Spanned, code};

pub(super) fn bench(mut table: Table<'_, '_>) -> Bench {
    let mut runs = Vec::new();
    table.tables("runs", |mut run| {
        let from = run.needed_name("from");
        let to = run.needed_name("to");
        run.need("length");
        let length = run.quantity("length", Length::read);
        run.close();
        if let (Some(from), Some(to)) = (from, to) {
            // Why the length cannot be read has been told. The run keeps its places known, so that nothing else is told for it.
            let length = length.unwrap_or(Spanned { value: Length::new(1.0), span: to.span });
            runs.push(BenchRun { from, to, length });
        }
    });
    let slack = table.quantity("slack", Share::read);
    let drop = table.quantity("drop", Length::read);
    table.close();
    Bench { runs, slack, drop }
}

pub(super) fn place(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let decoders = table.number("decoders", code::NUMBER_OUT_OF_RANGE);
    let module = table.name("module");
    let note = table.name("note").map(|note| note.value);
    table.close();
    description.places.push(Place { id, decoders, module, note });
}
