//! Keys of what lies on the bench and how it is called: tracks, what joins them, lines, routes, levers.

use super::{Key, Kind, Quantity, TableKeys, needed, open, usual};

const NAME: Key = open("name", Kind::Text, "the id", "what plate and tables call it", "\"ice house\"");
const AT: Key =
    open("at", Kind::Text, "nowhere: its cables have no length", "the place it stands at", "\"bay 2\"");
const MOTOR: Key =
    open("motor", Kind::Text, "`motor` of `[defaults]`", "the part that moves the points", "\"stall motor\"");
const FROG: Key = open(
    "frog",
    Kind::Text,
    "nothing",
    "the frog number, kept with the turnout; nothing is made of it yet",
    "\"6\"",
);
const FROG_FEED: Key = open(
    "frog_feed",
    Kind::Choice(&["switched", "dead", "polarity unit"]),
    "switched where the motor has a contact left, else a polarity unit",
    "how the frog is fed",
    "\"switched\"",
);
const NUMBER: Key = open("number", Kind::Whole(1, 999), "decided", "pins the number on the panel", "12");
const ADDRESS: Key = open("address", Kind::Whole(1, 2048), "decided", "pins the accessory address", "40");
const DECODER: Key =
    open("decoder", Kind::Text, "decided", "pins the decoder that drives it, by its id", "\"D1\"");
const POINTS: Key = needed("points", Kind::Text, "the track at the points", "\"west approach\"");
const THROUGH: Key = needed("through", Kind::Text, "the track straight on", "\"main 1\"");
const LEFT: Key = needed("left", Kind::Text, "the track of the left leg", "\"yard 1\"");
const RIGHT: Key = needed("right", Kind::Text, "the track of the right leg", "\"yard 3\"");
const ONE: Key = needed(
    "one",
    Kind::Pair,
    "the two tracks of one line through it, left one first",
    "[\"main 1\", \"main 2\"]",
);
const OTHER: Key = needed(
    "other",
    Kind::Pair,
    "the two tracks of the other line through it, left one first",
    "[\"passing 1\", \"passing 2\"]",
);
const VIA: Key =
    open("via", Kind::Names, "any way", "tracks it runs over, where there are several ways", "[\"main 2\"]");

pub(super) const LAYOUT: TableKeys = TableKeys {
    name: "layout",
    many: false,
    says: "The layout as a whole. It has to be there.",
    keys: &[
        needed("name", Kind::Text, "the name that stands on every sheet", "\"Tern Harbor Terminal\""),
        open("scale", Kind::Text, "not printed", "the scale, for the cover", "\"1:87\""),
        usual(
            "units",
            Kind::Choice(&["metric", "imperial"]),
            "metric",
            "what sheets are printed in",
            "\"imperial\"",
        ),
        open(
            "longest_train",
            Kind::Quantity(Quantity::Length),
            "lengths are not compared with trains",
            "the longest train that runs",
            "\"6 ft\"",
        ),
        open("date", Kind::Date, "no date", "the date on the sheets; never the clock's", "\"2026-05-01\""),
        open("revision", Kind::Text, "none", "the revision on the sheets", "\"A\""),
    ],
};

pub(super) const END: TableKeys = TableKeys {
    name: "end",
    many: true,
    says: "Where a track stops. A track with an end is a stop, unless its `[track.*]` says otherwise.",
    keys: &[
        needed("track", Kind::Text, "the track that stops here", "\"west approach\""),
        usual(
            "is",
            Kind::Choice(&["bumper", "staging", "beyond"]),
            "bumper",
            "whether it stops for good, is where trains are made up, or goes on past what is described",
            "\"beyond\"",
        ),
        open(
            "side",
            Kind::Choice(&["left", "right"]),
            "decided",
            "the side of the drawing it lies on, seen from the operating side",
            "\"left\"",
        ),
    ],
};

pub(super) const TURNOUT: TableKeys = TableKeys {
    name: "turnout",
    many: true,
    says: "One turnout: three tracks meet at it, and one machine moves its points.",
    keys: &[
        POINTS,
        THROUGH,
        needed("diverging", Kind::Text, "the track of the diverging leg", "\"siding west\""),
        open(
            "hand",
            Kind::Choice(&["left", "right"]),
            "drawn as right, with a warning",
            "the way the diverging leg leaves, seen from the points",
            "\"right\"",
        ),
        usual(
            "normal",
            Kind::Choice(&["through", "diverging"]),
            "through",
            "the leg that is the normal position",
            "\"through\"",
        ),
        NAME,
        AT,
        MOTOR,
        FROG,
        FROG_FEED,
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

pub(super) const WYE: TableKeys = TableKeys {
    name: "wye",
    many: true,
    says: "A turnout with two diverging legs.",
    keys: &[
        POINTS,
        LEFT,
        RIGHT,
        usual(
            "normal",
            Kind::Choice(&["left", "right"]),
            "left",
            "the leg that is the normal position",
            "\"left\"",
        ),
        NAME,
        AT,
        MOTOR,
        FROG,
        FROG_FEED,
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

pub(super) const THREEWAY: TableKeys = TableKeys {
    name: "threeway",
    many: true,
    says: "A three-way turnout: two machines, `L` and `R`; both reversed at once is forbidden.",
    keys: &[POINTS, THROUGH, LEFT, RIGHT, NAME, AT, MOTOR, FROG, FROG_FEED, NUMBER, ADDRESS, DECODER],
};

pub(super) const CROSSOVER: TableKeys = TableKeys {
    name: "crossover",
    many: true,
    says: "Two turnouts that move together: machine A on line `one`, B on line `other`. The crossing move runs from the left track of `one` to the right track of `other`.",
    keys: &[
        ONE,
        OTHER,
        open(
            "hand",
            Kind::Choice(&["left", "right"]),
            "follows from the drawing",
            "the way the crossing move leaves line `one`, seen from the points of A",
            "\"left\"",
        ),
        NAME,
        AT,
        MOTOR,
        FROG,
        FROG_FEED,
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

pub(super) const SCISSORS: TableKeys = TableKeys {
    name: "scissors",
    many: true,
    says: "A double crossover: two crossovers and the diamond between them. Four machines, A to D.",
    keys: &[ONE, OTHER, NAME, AT, MOTOR, FROG, FROG_FEED, NUMBER, ADDRESS, DECODER],
};

pub(super) const SLIP: TableKeys = TableKeys {
    name: "slip",
    many: true,
    says: "A slip: with `one = [\"a\", \"b\"]` and `other = [\"c\", \"d\"]` the straight moves are a–b and c–d, the curves a–d and c–b. Two machines: W at a and c, E at b and d.",
    keys: &[
        ONE,
        OTHER,
        usual(
            "slips",
            Kind::Choice(&["both", "one"]),
            "both",
            "whether both curves are there, or only a–d",
            "\"both\"",
        ),
        usual("swap_ends", Kind::Flag, "false", "the other linkage of the two ends", "true"),
        NAME,
        AT,
        MOTOR,
        FROG,
        FROG_FEED,
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

pub(super) const CROSSING: TableKeys = TableKeys {
    name: "crossing",
    many: true,
    says: "A diamond: nothing moves.",
    keys: &[ONE, OTHER, NAME, AT, FROG_FEED],
};

pub(super) const TURNTABLE: TableKeys = TableKeys {
    name: "turntable",
    many: true,
    says: "Each approach leads to each stall over the bridge, which turns polarity over. 250 tracks at most.",
    keys: &[
        needed("approach", Kind::Names, "the tracks that lead to it", "[\"engine lead\"]"),
        needed("stalls", Kind::Names, "the tracks around it", "[\"stall 1\"]"),
        NAME,
        AT,
    ],
};

pub(super) const TRACK: TableKeys = TableKeys {
    name: "track",
    many: true,
    says: "Facts about a track, by its name. A track needs no table of its own.",
    keys: &[
        open(
            "length",
            Kind::Quantity(Quantity::Length),
            "not known",
            "how long it is, along the rails",
            "\"7 ft\"",
        ),
        open(
            "stop",
            Kind::Flag,
            "true on a track with an end, else false",
            "whether trains wait here: routes begin and end at stops",
            "true",
        ),
        open("district", Kind::Text, "one district with its neighbours", "its power district", "\"A\""),
        usual(
            "feeders",
            Kind::Quantity(Quantity::Length),
            "6 ft",
            "how far apart its droppers are at most",
            "\"3 ft\"",
        ),
        open(
            "at",
            Kind::Names,
            "those of the joints at its ends",
            "the places it passes",
            "[\"bay 1\", \"bay 2\"]",
        ),
        usual("existing", Kind::Flag, "false", "its wiring is there already and is reused", "true"),
    ],
};

pub(super) const LINE: TableKeys = TableKeys {
    name: "line",
    many: true,
    says: "A named run, drawn straight and level. Levers are numbered along lines, in the order in which the lines stand in the file.",
    keys: &[
        needed("from", Kind::Text, "the end or track where the line starts", "\"west\""),
        needed("to", Kind::Text, "the end or track where the line stops", "\"east\""),
        VIA,
    ],
};

pub(super) const ROUTE: TableKeys = TableKeys {
    name: "route",
    many: true,
    says: "A name for one route between two stops. Routes are found without it.",
    keys: &[
        needed("from", Kind::Text, "the stop where the route begins", "\"west\""),
        needed("to", Kind::Text, "the stop where the route ends", "\"yard 1\""),
        VIA,
        open("avoid", Kind::Names, "nothing", "tracks and joints it does not run over", "[\"siding 1\"]"),
        usual(
            "prefer",
            Kind::Choice(&["fewest reverse", "shortest"]),
            "fewest reverse",
            "which of several is meant",
            "\"shortest\"",
        ),
    ],
};

pub(super) const LEVER: TableKeys = TableKeys {
    name: "lever",
    many: true,
    says: "One control that moves several machines. Without it every turnout, wye, crossover and slip end has its own.",
    keys: &[
        needed("moves", Kind::Names, "the turnouts that it moves", "[\"7\", \"8\"]"),
        NUMBER,
        ADDRESS,
        DECODER,
    ],
};

pub(super) const NUMBERING: TableKeys = TableKeys {
    name: "numbering",
    many: false,
    says: "How levers are numbered.",
    keys: &[
        usual("first", Kind::Whole(1, 999), "1", "the first number", "1"),
        usual("spare_per_line", Kind::Whole(0, 99), "0", "numbers left free after each line, for later", "2"),
    ],
};
