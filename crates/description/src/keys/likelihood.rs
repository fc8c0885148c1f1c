//! Keys of `[likelihood]`: the ways in which parts fail, and in how many of a thousand each is taken to be there.

use super::{Key, Kind, TableKeys, usual};

pub(super) const LIKELIHOOD: TableKeys = TableKeys {
    name: "likelihood",
    many: false,
    says: "How often parts fail on this railroad: in how many of a thousand such parts each is wrong on an evening when something is, where you know better than the usual figures. They put suspects in order and choose tests; none is left out because of them.",
    keys: &[
        failure("supply_dead", "4", "a supply or booster gives nothing"),
        failure("supply_weak", "6", "a supply gives too little"),
        failure("run_open", "3", "a run of a bus is interrupted"),
        failure("run_joint", "8", "a joint in a run of a bus has too much resistance"),
        failure("run_short", "3", "the two conductors of a run touch"),
        failure("feed_open", "6", "the wires from the track bus to a decoder are interrupted"),
        failure("decoder_dead", "5", "a decoder is dead"),
        failure("off_by_four", "8", "a decoder listens to the board before or after its own"),
        failure("address_unused", "6", "a decoder listens to addresses that nobody sends"),
        failure("output_dead", "4", "an output of a decoder is dead"),
        failure("motor_open", "15", "the wires from an output to a motor are interrupted"),
        failure("motor_short", "4", "the wires from an output to a motor touch"),
        failure("motor_swapped", "10", "the wires from an output to a motor are swapped"),
        failure("motor_stuck", "10", "a motor does not move"),
        failure("motor_worn", "20", "a motor is worn: it moves slowly"),
        failure("pair_dead", "6", "a pair of buttons does nothing"),
        failure("strip_dead", "4", "a strip is dead"),
        failure("cable_open", "8", "the cable to a strip is interrupted"),
        failure("link_lost", "15", "the link from the screen to the system is lost"),
        failure("dropper_open", "10", "a dropper is off its rail or its bus"),
        failure("unit_dead", "6", "what turns a reversing section over is dead"),
        failure("frog_open", "8", "the wire to a frog is interrupted"),
        failure("contact_stuck", "8", "a contact that feeds a frog stays as it is in normal"),
        failure("contact_swapped", "8", "a contact that feeds a frog has its two rails swapped"),
        failure("gap_missing", "6", "a gap was not cut, or has closed"),
        failure("lamp_out", "15", "a lamp is out"),
        failure("lamp_open", "8", "the wires to a lamp are interrupted"),
    ],
};

/// In none, or in all, would leave nothing to find.
const fn failure(name: &'static str, in_thousand: &'static str, says: &'static str) -> Key {
    usual(name, Kind::Whole(1, 999), in_thousand, says, "30")
}
