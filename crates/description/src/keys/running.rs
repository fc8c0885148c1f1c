//! Keys of what makes it run: the DCC system, buses, signals and lights, links; and of the drawing and of work.

use super::{Key, Kind, Quantity, TableKeys, needed, open, usual};

pub(super) const SYSTEM: TableKeys = TableKeys {
    name: "system",
    many: false,
    says: "The DCC system and what it has in use already.",
    keys: &[
        usual(
            "address_scheme",
            Kind::Choice(&["linear", "zero-based", "blocks-of-256"]),
            "linear",
            "which bits of a packet a user number means",
            "\"linear\"",
        ),
        usual(
            "last_address",
            Kind::Whole(1, 2048),
            "2040",
            "the highest address that may be given out; 2041 to 2044 are the broadcast board, 2045 to 2048 wrap round",
            "2040",
        ),
        usual(
            "normal_is",
            Kind::Whole(0, 1),
            "1",
            "the value of the direction bit that moves to normal",
            "1",
        ),
        open(
            "cabs_in_use",
            Kind::Wholes(0, 999),
            "none",
            "cab-bus addresses of the throttles that are there",
            "[2, 3]",
        ),
        open(
            "taken",
            Kind::Names,
            "none",
            "accessory addresses that something else answers, single or from-to",
            "[\"100-120\"]",
        ),
    ],
};

const SOURCE_KEYS: &[Key] = &[
    needed("at", Kind::Text, "the place where it stands", "\"bay 1\""),
    open("part", Kind::Text, "a plain supply", "the part that it is", "\"booster\""),
    needed("volts", Kind::Quantity(Quantity::Voltage), "its voltage without load", "\"14.5 V\""),
    open(
        "trip",
        Kind::Quantity(Quantity::Current),
        "it has no breaker",
        "the current at which its breaker opens",
        "\"5 A\"",
    ),
    usual(
        "inner",
        Kind::Quantity(Quantity::Resistance),
        "50 mohm",
        "the resistance inside it",
        "\"50 mohm\"",
    ),
];

const SOURCE: TableKeys =
    TableKeys { name: "source", many: false, says: "What feeds a bus.", keys: SOURCE_KEYS };

const BRANCH: TableKeys = TableKeys {
    name: "branches",
    many: false,
    says: "A further way of a bus.",
    keys: &[needed("path", Kind::Names, "the places it passes, in order", "[\"bay 1\", \"bay 2\"]")],
};

const BUY: TableKeys = TableKeys {
    name: "buy",
    many: false,
    says: "A conductor that can be had.",
    keys: &[
        needed("conductor", Kind::Quantity(Quantity::Conductor), "what can be bought", "\"14 AWG\""),
        open(
            "price",
            Kind::Quantity(Quantity::Price),
            "told by its copper",
            "what a metre of both wires costs",
            "\"0.55 /m\"",
        ),
    ],
};

pub(super) const BUS: TableKeys = TableKeys {
    name: "bus",
    many: true,
    says: "A pair of conductors that feeds the rails, or decoders and what they drive. See [buses](power.md).",
    keys: &[
        needed("kind", Kind::Choice(&["track", "accessory"]), "what the bus feeds", "\"track\""),
        needed(
            "source",
            Kind::Entry(&SOURCE),
            "what feeds it",
            "{ at = \"bay 1\", part = \"booster\", volts = \"14.5 V\", trip = \"5 A\" }",
        ),
        open(
            "also_fed",
            Kind::Entries(&SOURCE),
            "nothing",
            "further supplies",
            "[{ at = \"bay 4\", volts = \"14.5 V\" }]",
        ),
        open(
            "conductor",
            Kind::Quantity(Quantity::Conductor),
            "the cheapest sizes that keep every limit",
            "its size",
            "\"14 AWG\"",
        ),
        usual(
            "shape",
            Kind::Choice(&["tree", "ring"]),
            "tree",
            "whether its ends are open, or its path comes back to where it began",
            "\"tree\"",
        ),
        needed("path", Kind::Names, "the places it passes, in order", "[\"bay 1\", \"bay 2\"]"),
        open(
            "branches",
            Kind::Entries(&BRANCH),
            "none",
            "further ways, each from a place that it passes",
            "[{ path = [\"bay 2\", \"bay 5\"] }]",
        ),
        usual(
            "drop_limit",
            Kind::Quantity(Quantity::Share),
            "5 %",
            "how much of the voltage may be lost",
            "\"5 %\"",
        ),
        open(
            "load",
            Kind::Quantity(Quantity::Current),
            "on a track bus all that the breaker lets through, else nothing",
            "what it feeds beside decoders and motors, at each place in turn",
            "\"3 A\"",
        ),
        usual(
            "joint",
            Kind::Quantity(Quantity::Resistance),
            "0",
            "the resistance of the joints at a place",
            "\"10 mohm\"",
        ),
        usual(
            "feeder",
            Kind::Quantity(Quantity::Conductor),
            "that of `[conductors]`",
            "the wires from the bus to the rails or a decoder",
            "\"20 AWG\"",
        ),
        open(
            "feeder_length",
            Kind::Quantity(Quantity::Length),
            "reckoned along the bench",
            "how long each of those is",
            "\"12 in\"",
        ),
        usual(
            "existing",
            Kind::Flag,
            "false",
            "it is there already: named in the wire list, and not bought; needs `conductor`",
            "false",
        ),
        usual(
            "capacitor",
            Kind::Quantity(Quantity::Capacitance),
            "4700 uF",
            "the capacitor of the discharge unit, where coil machines hang on it",
            "\"4700 uF\"",
        ),
        open(
            "buy",
            Kind::Entries(&BUY),
            "the usual sizes, by their copper",
            "conductors that can be had",
            "[{ conductor = \"14 AWG\", price = \"0.55 /m\" }]",
        ),
    ],
};

pub(super) const DRAWING: TableKeys = TableKeys {
    name: "drawing",
    many: false,
    says: "What your taste pins of the track diagram. What cannot be held is told, with the reason.",
    keys: &[
        open(
            "straight",
            Kind::Names,
            "lines go straight on",
            "turnouts whose diverging leg is drawn straight on from the points",
            "[\"ice\"]",
        ),
        open("order", Kind::Lists, "decided", "joints from left to right", "[[\"ice\", \"pier-2\"]]"),
        open(
            "levels",
            Kind::Levels,
            "decided",
            "levels of tracks, from -100 to 100; the first line lies at 0",
            "{ \"pier lead\" = 2 }",
        ),
    ],
};

const NAME: Key = open("name", Kind::Text, "the id", "what plate and tables call it", "\"depot\"");
const AT: Key =
    open("at", Kind::Text, "nowhere: its cables have no length", "the place it stands at", "\"bay 2\"");
const PART: Key = open("part", Kind::Text, "lamp", "the part that shines", "\"bulb\"");
const DRAW: Key = open(
    "draw",
    Kind::Quantity(Quantity::Current),
    "that of its part",
    "the current of its lamps",
    "\"60 mA\"",
);
const NUMBER: Key = open("number", Kind::Whole(1, 999), "decided", "pins its number", "31");
const ADDRESS: Key = open("address", Kind::Whole(1, 2048), "decided", "pins its accessory address", "40");
const DECODER: Key =
    open("decoder", Kind::Text, "decided", "pins the decoder that drives it, by its id", "\"D4\"");

pub(super) const LIGHT: TableKeys = TableKeys {
    name: "light",
    many: true,
    says: "A light with an accessory address.",
    keys: &[NAME, AT, PART, DRAW, NUMBER, ADDRESS, DECODER],
};

pub(super) const SIGNAL: TableKeys = TableKeys {
    name: "signal",
    many: true,
    says: "A signal with an accessory address.",
    keys: &[
        NAME,
        open("on", Kind::Text, "none", "the track it stands on", "\"main 1\""),
        open("guards", Kind::Text, "nothing", "the turnout or machine it stands before", "\"wharf\""),
        AT,
        PART,
        DRAW,
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

/// How long one piece of work takes.
const fn time(name: &'static str, usually: &'static str, says: &'static str) -> Key {
    usual(name, Kind::Quantity(Quantity::Duration), usually, says, "\"10 min\"")
}

pub(super) const WORK: TableKeys = TableKeys {
    name: "work",
    many: false,
    says: "How long work takes, for the work order and the order of tests. The usual times are common practice, no source.",
    keys: &[
        time("machine", "45 min", "fitting one machine, with its linkage"),
        time("decoder", "30 min", "mounting and programming one decoder"),
        time("strip", "45 min", "mounting and setting up one strip"),
        time("accessory", "20 min", "fitting one light, signal or the like"),
        time("wire", "10 min", "laying one wire, both ends"),
        time("lever", "5 min", "putting up one control with its number plate"),
        time("lead", "10 min", "moving one lead to another output"),
        time("relabel", "2 min", "changing one label or plate"),
        time("reprogram", "5 min", "setting one address of a thing that is there"),
        usual(
            "take_out",
            Kind::Quantity(Quantity::Share),
            "50 %",
            "what taking a thing out takes, as a share of fitting it",
            "\"50 %\"",
        ),
    ],
};

const FAR: &[&str] = &["layout bus", "broker", "bytes"];
const BYTES: &[&str] = &["bytes"];

pub(super) const LINK: TableKeys = TableKeys {
    name: "link",
    many: true,
    says: "What moves the machines while the railroad runs. Without any link the layout is modelled. See [links](links.md), and its caution.",
    keys: &[
        needed(
            "kind",
            Kind::Choice(&["simulator", "layout bus", "broker", "bytes"]),
            "what is at the other end",
            "\"simulator\"",
        ),
        open(
            "moves",
            Kind::Names,
            "all that no other link names",
            "lines, levers, turnouts and machines that it moves",
            "[\"yard ladder\"]",
        ),
        needed(
            "to",
            Kind::Text,
            "the network address of what it joins; for `bytes` a serial port or a network address",
            "\"192.168.1.20:12021\"",
        )
        .only(FAR),
        needed("node", Kind::Text, "the name of the node that throwbar is", "\"05.01.01.01.7F.21\"")
            .only(&["layout bus"]),
        needed("topic", Kind::Text, "what all its topics begin with", "\"tern-harbor\"").only(&["broker"]),
        open(
            "name",
            Kind::Text,
            "the layout's name",
            "what the other panels on the broker call this one",
            "\"tower\"",
        )
        .only(&["broker"]),
        usual("baud", Kind::Whole(300, 4_000_000), "9600", "bits a second of a serial port", "9600")
            .only(BYTES),
        needed("throw", Kind::Template, "what is sent for a throw", "\"address {address} bit {bit}\\n\"")
            .only(BYTES),
        open(
            "stop",
            Kind::Template,
            "it cannot stop everything",
            "what is sent to stop everything",
            "\"stop\\n\"",
        )
        .only(BYTES),
        open("free", Kind::Template, "nothing is sent", "what is sent to free everything again", "\"go\\n\"")
            .only(BYTES),
        open(
            "confirm",
            Kind::Template,
            "it cannot report",
            "how a row that comes in says where a machine stands",
            "\"{any} address {address} bit {bit}\"",
        )
        .only(BYTES),
    ],
};
