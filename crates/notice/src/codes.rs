//! The catalogue of diagnostic codes. A code names what is wrong, never the cure; it is never renamed and never used
//! again for something else. Its page under `docs/codes/` is its documentation here, what `throwbar explain` prints,
//! and, by the example it holds, a test.

use std::fmt;

/// The kind of a diagnostic.
#[derive(Clone, Copy)]
pub struct Code {
    name: &'static str,
    page: &'static str,
}

impl Code {
    /// All codes, in the order of their names.
    pub fn all() -> impl Iterator<Item = Self> {
        code::ALL.iter().copied()
    }

    /// The code of this name.
    pub fn find(name: &str) -> Option<Self> {
        Self::all().find(|code| code.name == name)
    }

    /// The stable name: lower-case words joined by hyphens.
    pub fn name(self) -> &'static str {
        self.name
    }

    /// The page that explains it: Markdown.
    pub fn page(self) -> &'static str {
        self.page
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl PartialEq for Code {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Eq for Code {}

impl PartialOrd for Code {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Code {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.name.cmp(other.name)
    }
}

macro_rules! catalogue {
    ($($ident:ident $name:literal)+) => {
        /// Every code, each under its own name.
        pub mod code {
            use super::Code;
            $(
                #[doc = concat!("`", $name, "`: its page is `docs/codes/", $name, ".md`.")]
                pub const $ident: Code = Code {
                    name: $name,
                    page: include_str!(concat!("../../../docs/codes/", $name, ".md")),
                };
            )+
            pub(super) const ALL: &[Code] = &[$($ident),+];
        }
    };
}

catalogue! {
    ADDRESS_COUNTS_DIFFER "address-counts-differ"
    ADDRESS_NONE_FREE "address-none-free"
    ADDRESS_OUT_OF_RANGE "address-out-of-range"
    ADDRESS_TAKEN "address-taken"
    ADDRESS_USED_TWICE "address-used-twice"
    BENCH_RUN_NOWHERE "bench-run-nowhere"
    BUS_BRANCH_LOOSE "bus-branch-loose"
    BUS_CONDUCTOR_THIN "bus-conductor-thin"
    BUS_DROPS_MUCH "bus-drops-much"
    BUS_MISSES_DECODERS "bus-misses-decoders"
    BUS_NO_WAY "bus-no-way"
    BUS_OVERLOADED "bus-overloaded"
    BUS_PATH_SHORT "bus-path-short"
    BUS_PLACE_TWICE "bus-place-twice"
    BUS_PLACE_UNKNOWN "bus-place-unknown"
    BUS_SOURCE_OFF_PATH "bus-source-off-path"
    BUS_SUPPLY_SMALL "bus-supply-small"
    CHOICE_UNKNOWN "choice-unknown"
    COILS_EXCEED_SUPPLY "coils-exceed-supply"
    COLOUR_RESERVED "colour-reserved"
    CONTROL_TWICE "control-twice"
    CONTROL_UNKNOWN "control-unknown"
    CROSSOVER_APART "crossover-apart"
    DISTRICT_NO_FEEDER "district-no-feeder"
    DRAWING_NAME_UNKNOWN "drawing-name-unknown"
    DRAWING_NUDGE_UNHELD "drawing-nudge-unheld"
    FINDINGS_TOO_MANY "findings-too-many"
    GAP_MISSING "gap-missing"
    HAND_MISSING "hand-missing"
    HOLE_OFF_PANEL "hole-off-panel"
    HOLE_TOO_LARGE "hole-too-large"
    HOLES_TOO_NEAR "holes-too-near"
    ID_USED_TWICE "id-used-twice"
    KEY_MISSING "key-missing"
    KEY_TWICE "key-twice"
    KEY_UNKNOWN "key-unknown"
    LABELS_TOO_SMALL "labels-too-small"
    LAYOUT_MISSING "layout-missing"
    LEGS_SAME_TRACK "legs-same-track"
    LEVER_MOVES_NOTHING "lever-moves-nothing"
    LEVER_NO_CONTROL "lever-no-control"
    LEVER_ON_NO_ROUTE "lever-on-no-route"
    LINE_END_UNKNOWN "line-end-unknown"
    LINE_NO_PATH "line-no-path"
    LINK_ADDRESS_UNREADABLE "link-address-unreadable"
    LINK_MACHINE_TWICE "link-machine-twice"
    LINK_UNUSABLE "link-unusable"
    MACHINE_NO_DECODER "machine-no-decoder"
    MACHINE_ONE_POSITION "machine-one-position"
    MACHINE_TWO_LEVERS "machine-two-levers"
    MACHINE_UNKNOWN "machine-unknown"
    NAME_EMPTY "name-empty"
    NODE_ID_UNREADABLE "node-id-unreadable"
    NUMBER_OUT_OF_RANGE "number-out-of-range"
    NUMBER_USED_TWICE "number-used-twice"
    NUTS_TOO_NEAR "nuts-too-near"
    OUTPUT_OVERLOADED "output-overloaded"
    PANEL_TOO_SMALL "panel-too-small"
    PART_TOO_DEEP "part-too-deep"
    PART_UNKNOWN "part-unknown"
    PART_WRONG_ROLE "part-wrong-role"
    PIN_DIFFERS "pin-differs"
    PLACE_FULL "place-full"
    PLACE_OFF_BENCH "place-off-bench"
    QUANTITY_NEGATIVE "quantity-negative"
    QUANTITY_TOO_LARGE "quantity-too-large"
    QUANTITY_UNREADABLE "quantity-unreadable"
    RANGE_UNREADABLE "range-unreadable"
    RECORD_CUT_SHORT "record-cut-short"
    RECORD_DIFFERS "record-differs"
    RECORD_GONE "record-gone"
    RECORD_MERGE_OPEN "record-merge-open"
    RECORD_OTHER_LAYOUT "record-other-layout"
    RECORD_PINNED_OVER "record-pinned-over"
    RECORD_RENAMED "record-renamed"
    RECORD_ROW_UNREADABLE "record-row-unreadable"
    RECORD_SCHEMA_UNKNOWN "record-schema-unknown"
    RECORD_USED_TWICE "record-used-twice"
    REVERSING_SECTIONS_TOUCH "reversing-sections-touch"
    REVERSING_TOO_SHORT "reversing-too-short"
    RING_OPENED_DROPS "ring-opened-drops"
    ROUTE_END_NO_STOP "route-end-no-stop"
    ROUTE_LEVER_CLASH "route-lever-clash"
    ROUTE_NAME_UNKNOWN "route-name-unknown"
    ROUTE_NO_PATH "route-no-path"
    ROUTES_TOO_MANY "routes-too-many"
    SHORT_NEVER_TRIPS "short-never-trips"
    SHORT_TRIPS_LATE "short-trips-late"
    SIGNAL_NAME_UNKNOWN "signal-name-unknown"
    STOP_MISSING "stop-missing"
    STOP_ON_NO_ROUTE "stop-on-no-route"
    STOPS_NO_ROUTE "stops-no-route"
    STRIP_FULL "strip-full"
    STRIP_START_MISFIT "strip-start-misfit"
    STRIPS_NEED_SUPPLY "strips-need-supply"
    TABLE_NOT_USED "table-not-used"
    TEMPLATE_UNREADABLE "template-unreadable"
    TEXT_NOT_UTF8 "text-not-utf8"
    TEXT_SYNTAX "text-syntax"
    TEXT_TOO_LONG "text-too-long"
    THREEWAY_BOTH "threeway-both"
    TOO_MANY_TO_READ "too-many-to-read"
    TOPIC_UNUSABLE "topic-unusable"
    TRACK_MANY_ENDS "track-many-ends"
    TRACK_ONE_END "track-one-end"
    TRACK_UNKNOWN "track-unknown"
    TRACK_UNREACHABLE "track-unreachable"
    TURNOUTS_ON_TRACK_BUS "turnouts-on-track-bus"
    UNIT_MISSING "unit-missing"
    UNIT_UNKNOWN "unit-unknown"
    VALUE_WRONG_KIND "value-wrong-kind"
    WIRE_NO_PATH "wire-no-path"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_stand_in_order_and_each_once() {
        let names: Vec<_> = Code::all().map(Code::name).collect();
        assert!(names.is_sorted_by(|a, b| a < b), "{names:?}");
    }

    #[test]
    fn every_page_opens_with_its_own_name() {
        for code in Code::all() {
            assert!(code.page().starts_with(&format!("# {code}\n")), "{code}");
        }
    }
}
