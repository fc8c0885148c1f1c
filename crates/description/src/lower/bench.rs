//! `[bench]` and `[place.*]`.

use super::table::Table;
use crate::model::{Bench, BenchRun, Description, Name, Place};
use measure::{Length, Share};
use notice::code;

pub(super) fn bench(mut table: Table<'_, '_>) -> Bench {
    let mut runs = Vec::new();
    table.tables("runs", "{ from = \"bay 1\", to = \"bay 2\", length = \"4 ft\" }", |mut run| {
        let from = run.needed_name("from", "the place where the run starts");
        let to = run.needed_name("to", "the place where the run ends");
        if !run.has("length") {
            run.missing("length", "how far it is along the bench", "length = \"4 ft\"");
        }
        let length = run.quantity("length", "4 ft", Length::read);
        run.close();
        if let (Some(from), Some(to), Some(length)) = (from, to, length) {
            runs.push(BenchRun { from, to, length });
        }
    });
    let slack = table.quantity("slack", "15 %", Share::read);
    let drop = table.quantity("drop", "18 in", Length::read);
    table.close();
    Bench { runs, slack, drop }
}

pub(super) fn place(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let decoders = table.number("decoders", 0..=999, code::NUMBER_OUT_OF_RANGE);
    let module = table.name("module");
    let note = table.name("note").map(|note| note.value);
    table.close();
    description.places.push(Place { id, decoders, module, note });
}
