//! `[signal.*]` and `[light.*]`.

use super::joint::pins;
use super::table::Table;
use crate::accessory::{Accessory, AccessoryKind};
use crate::model::{Description, Name};
use measure::Current;

pub(super) fn accessory(
    kind: AccessoryKind,
    id: Name,
    mut table: Table<'_, '_>,
    description: &mut Description,
) {
    let is_signal = kind == AccessoryKind::Signal;
    let accessory = Accessory {
        kind,
        id,
        name: table.name("name").map(|name| name.value),
        // Only a signal stands on a track and guards something: of a light both are unknown keys.
        on: if is_signal { table.name("on") } else { None },
        guards: if is_signal { table.name("guards") } else { None },
        at: table.name("at"),
        part: table.name("part"),
        draw: table.quantity("draw", Current::read),
        pins: pins(&mut table),
    };
    table.close();
    description.accessories.push(accessory);
}
