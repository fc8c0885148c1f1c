//! Keys of what is built under and before the tracks: bench, places, parts, panels, labels, wire.

use super::{Kind, Quantity, TableKeys, needed, open, usual};

const RUN: TableKeys = TableKeys {
    name: "runs",
    many: false,
    says: "A length of bench along which cable is laid.",
    keys: &[
        needed("from", Kind::Text, "the place where the run starts", "\"bay 1\""),
        needed("to", Kind::Text, "the place where the run ends", "\"bay 2\""),
        needed("length", Kind::Quantity(Quantity::Length), "how far it is along the bench", "\"4 ft\""),
    ],
};

pub(super) const BENCH: TableKeys = TableKeys {
    name: "bench",
    many: false,
    says: "The runs along which cable is laid. Places come to be by being named here, or by `at`.",
    keys: &[
        open(
            "runs",
            Kind::Entries(&RUN),
            "cables have no length",
            "lengths from place to place",
            "[{ from = \"bay 1\", to = \"bay 2\", length = \"4 ft\" }]",
        ),
        usual("slack", Kind::Quantity(Quantity::Share), "0 %", "what is added to every length", "\"15 %\""),
        usual(
            "drop",
            Kind::Quantity(Quantity::Length),
            "0",
            "from the run of the cable up to what it is fastened to, at each end",
            "\"18 in\"",
        ),
    ],
};

pub(super) const PLACE: TableKeys = TableKeys {
    name: "place",
    many: true,
    says: "Facts about a place.",
    keys: &[
        open("decoders", Kind::Whole(0, 999), "no limit", "how many decoders fit", "2"),
        open(
            "module",
            Kind::Text,
            "none: nothing comes apart",
            "the module it belongs to: wires from one to another have a plug between",
            "\"west\"",
        ),
        open("note", Kind::Text, "none", "what to know about it, printed on its sheets", "\"left end\""),
    ],
};

pub(super) const DEFAULTS: TableKeys = TableKeys {
    name: "defaults",
    many: false,
    says: "The parts that are taken where nothing else is said. Parts of `[part.*]` may be named, and the generic ones below.",
    keys: &[
        usual("motor", Kind::Text, "stall motor", "what moves points", "\"stall motor\""),
        usual(
            "decoder",
            Kind::Text,
            "eight output decoder",
            "what drives motors",
            "\"eight output decoder\"",
        ),
        usual("supply", Kind::Text, "accessory supply", "what feeds them", "\"accessory supply\""),
        usual(
            "spares",
            Kind::Quantity(Quantity::Share),
            "10 %",
            "what is bought beyond what is needed, of wire and of small parts",
            "\"10 %\"",
        ),
    ],
};

pub(super) const PART: TableKeys = TableKeys {
    name: "part",
    many: true,
    says: "A part that you have, or a change to a generic one of the same name. Parts are named for what they do. Keys that do not fit the role mean nothing.",
    keys: &[
        open(
            "role",
            Kind::Choice(&[
                "motor",
                "decoder",
                "strip",
                "supply",
                "booster",
                "button",
                "lamp",
                "toggle",
                "terminal strip",
                "connector",
                "polarity unit",
                "resistor",
                "diode",
            ]),
            "as the generic part of this name; needed where there is none",
            "what the part is for",
            "\"decoder\"",
        ),
        usual("outputs", Kind::Whole(1, 64), "8", "how many outputs a decoder has", "8"),
        usual("aligned", Kind::Whole(1, 64), "4", "a decoder's first address starts a group of so many", "4"),
        open(
            "drives",
            Kind::Choices(&["stall", "coil", "servo", "lamp"]),
            "nothing",
            "what a decoder can drive",
            "[\"stall\"]",
        ),
        open(
            "drive",
            Kind::Choice(&["stall", "coil", "servo"]),
            "stall",
            "how a motor is driven",
            "\"stall\"",
        ),
        usual(
            "decoder",
            Kind::Choice(&["inside", "apart"]),
            "apart",
            "whether a motor has its own decoder inside",
            "\"inside\"",
        ),
        usual(
            "contacts",
            Kind::Whole(0, 16),
            "0",
            "changeover contacts of a motor that move with the points",
            "2",
        ),
        usual("pairs", Kind::Whole(1, 99), "12", "pairs of buttons on a strip", "12"),
        usual("positions", Kind::Whole(1, 99), "12", "positions of a terminal strip", "12"),
        usual("pins", Kind::Whole(1, 99), "25", "pins of a connector", "25"),
        open(
            "draw",
            Kind::Quantity(Quantity::Current),
            "a decoder 50 mA, a lamp 10 mA, others nothing",
            "the current it takes, all the time or for the length of its pulse",
            "\"18 mA\"",
        ),
        usual(
            "volts",
            Kind::Quantity(Quantity::Voltage),
            "2 V",
            "volts across a lamp that shines",
            "\"2.1 V\"",
        ),
        open(
            "gives",
            Kind::Quantity(Quantity::Current),
            "not checked",
            "the current that a supply gives, or each output of a decoder",
            "\"2 A\"",
        ),
        open(
            "hole",
            Kind::Quantity(Quantity::Length),
            "that of the generic part of its role",
            "how wide a hole a button, lamp or toggle stands in",
            "\"6.2 mm\"",
        ),
        open(
            "nut",
            Kind::Quantity(Quantity::Length),
            "that of the generic part of its role",
            "how wide its nut or body is at the widest",
            "\"10 mm\"",
        ),
        open(
            "depth",
            Kind::Quantity(Quantity::Length),
            "that of the generic part of its role",
            "how far it reaches behind the panel",
            "\"25 mm\"",
        ),
        usual(
            "resistor",
            Kind::Flag,
            "true",
            "whether a lamp needs a resistor before it, as an LED does",
            "false",
        ),
        open(
            "counts",
            Kind::Choice(&["linear", "zero-based", "blocks-of-256"]),
            "as `address_scheme` of `[system]`",
            "how a strip, a decoder or a motor with a decoder inside counts addresses",
            "\"zero-based\"",
        ),
        open("count", Kind::Whole(0, 9999), "bought as needed", "how many are on the shelf", "5"),
    ],
};

const FASCIA: &[&str] = &["fascia"];

pub(super) const PANEL: TableKeys = TableKeys {
    name: "panel",
    many: true,
    says: "What commands the levers: a strip of button pairs with consecutive addresses, or a fascia with the track diagram on it.",
    keys: &[
        needed("kind", Kind::Choice(&["strip", "fascia", "screen"]), "what kind of panel it is", "\"strip\""),
        open("at", Kind::Text, "nowhere: its cables have no length", "the place where it stands", "\"bay 1\""),
        open("part", Kind::Text, "the generic strip, button or toggle", "the part it is made of", "\"twelve pair strip\""),
        open("start", Kind::Whole(1, 2048), "decided", "pins the first address of a strip", "1"),
        open("controls", Kind::Names, "every lever that no other panel has", "lines, levers and accessories, in order", "[\"main\", \"yard ladder\"]"),
        open("chain", Kind::Whole(1, 99), "a chain of its own", "strips on one chain follow one another", "1"),
        open("width", Kind::Quantity(Quantity::Length), "as wide as needed", "how wide it is; 5 m at most", "\"400 mm\"").only(FASCIA),
        open("height", Kind::Quantity(Quantity::Length), "as high as needed", "how high it is; 5 m at most", "\"160 mm\"").only(FASCIA),
        open("thickness", Kind::Quantity(Quantity::Length), "not printed", "how thick its sheet is", "\"3 mm\"").only(FASCIA),
        usual("margin", Kind::Quantity(Quantity::Length), "12 mm", "the border that buttons and lamps keep clear", "\"12 mm\"").only(FASCIA),
        usual("holes", Kind::Quantity(Quantity::Length), "4.5 mm", "how wide the holes are that it is fixed by; 0 mm for none", "\"4.5 mm\"").only(FASCIA),
        open("room", Kind::Quantity(Quantity::Length), "not checked", "how much room is behind it", "\"60 mm\"").only(FASCIA),
        usual("buttons", Kind::Choice(&["one-push", "pair", "toggle"]), "pair", "a button at each place a train can be sent to, one on each leg of each turnout, or a toggle at each turnout", "\"toggle\"").only(FASCIA),
        usual("lamps", Kind::Flag, "true", "whether it has lamps", "false").only(FASCIA),
    ],
};

pub(super) const LABELS: TableKeys = TableKeys {
    name: "labels",
    many: false,
    says: "The sheets that labels are printed on. Without `columns` and `rows` labels are cut out of plain paper.",
    keys: &[
        open(
            "columns",
            Kind::Whole(1, 40),
            "plain paper",
            "how many labels stand beside one another on a sheet",
            "3",
        ),
        open(
            "rows",
            Kind::Whole(1, 100),
            "plain paper",
            "how many labels stand under one another on a sheet",
            "8",
        ),
        usual(
            "margins",
            Kind::Quantity(Quantity::Length),
            "12 mm",
            "the margin of the sheet; 100 mm at most",
            "\"12 mm\"",
        ),
        open(
            "side_margins",
            Kind::Quantity(Quantity::Length),
            "as `margins`",
            "the margin left and right, where it is another",
            "\"5 mm\"",
        ),
        usual("gap", Kind::Quantity(Quantity::Length), "0", "what is left between two columns", "\"3 mm\""),
        open(
            "link",
            Kind::Text,
            "no code is printed",
            "where the live panel is served: the codes on decoder labels lead there",
            "\"http://harbor.local:8080\"",
        ),
    ],
};

/// The colour of one job of a conductor.
const fn colour(job: &'static str, says: &'static str) -> super::Key {
    open(job, Kind::Text, "that of the preset", says, "\"red\"")
}

pub(super) const COLOURS: TableKeys = TableKeys {
    name: "colours",
    many: false,
    says: "Colours of conductors, by what each does. The words are yours and are printed as they stand; green and yellow together are refused, because they mean the earth of the mains.",
    keys: &[
        usual(
            "preset",
            Kind::Choice(&["none", "NEM 605"]),
            "none",
            "where colours come from that are not written here",
            "\"NEM 605\"",
        ),
        colour("motor_one", "one side of a stall motor"),
        colour("motor_two", "its other side"),
        colour("coil_normal", "the coil that moves to normal"),
        colour("coil_reverse", "the coil that moves to reverse"),
        colour("coil_common", "what both coils share"),
        colour("servo_signal", "what tells a servo where to go"),
        colour("servo_plus", "a servo's supply"),
        colour("servo_minus", "a servo's return"),
        colour("rail_a", "one rail, and the conductor of a bus that feeds it"),
        colour("rail_b", "the other rail"),
        colour("frog", "a frog"),
        colour("button", "a button or toggle, to what it commands"),
        colour("lamp", "a lamp of a panel, from what it shows"),
        colour("panel_common", "what buttons, toggles and lamps of a panel share"),
        colour("lamp_on", "the lamps of a light, or the lamp of a signal that shows at reverse"),
        colour("lamp_normal", "the lamp of a signal that shows at normal"),
        colour("lamp_common", "what the lamps of a light or signal share"),
        colour("supply_plus", "a supply's positive side"),
        colour("supply_minus", "a supply's negative side"),
    ],
};

/// The size of one use of wire.
const fn size(name: &'static str, says: &'static str) -> super::Key {
    open(name, Kind::Quantity(Quantity::Conductor), "a usual size", says, "\"22 AWG\"")
}

pub(super) const CONDUCTORS: TableKeys = TableKeys {
    name: "conductors",
    many: false,
    says: "Sizes of conductors, by what the wire is for. The usual ones stand in [wires](why/wires.md).",
    keys: &[
        size("motor", "to a stall motor or a servo"),
        size("coil", "to a coil machine, which takes much for a moment"),
        size("frog", "to a frog, and to the contact or unit that feeds it"),
        size("feeder", "from a bus to the rails, to a decoder or to a polarity unit"),
        size("panel", "to buttons, toggles and lamps, and to signals and lights"),
        size("supply", "from a supply to what it feeds"),
    ],
};
