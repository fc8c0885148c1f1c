//! The rules that decide, by name, with the sentence each speaks.

use notice::Rule;

macro_rules! rules {
    ($($ident:ident $name:literal $sentence:literal)+) => {
        $(pub(crate) static $ident: Rule = Rule { name: $name, sentence: $sentence };)+
    };
}

rules! {
    PINNED "pinned" "`{}` is pinned in the description"
    FIRST_NUMBER "first-number" "numbering begins at {}"
    NEXT_ALONG_LINE "next-along-line" "it stands next on line {}, so it takes the next number after {}"
    NEXT_OFF_LINES "next-off-lines" "it stands on no line, so it follows by its id, after {}"
    NUMBERS_KEPT_FREE "numbers-kept-free" "{} numbers after line {} are kept free"
    PINNED_ELSEWHERE "pinned-elsewhere" "{} is pinned to another lever"
    MOVE_TOGETHER "move-together" "machines {} always move together"
    PAIR_COMMANDS "pair-commands" "pair {} of strip {} commands it"
    FIRST_FREE "first-free" "{} is the lowest address that nothing else uses"
    STRIPS_KEPT_WHOLE "strips-kept-whole" "the addresses of a strip's spare pairs are left to the strip"
    FOLLOWS_STRIP "follows-strip" "it goes on where strip {} stops, at {}"
    LOWEST_RUN "lowest-run" "{} is the lowest start of a board with {} free addresses in a row"
    START_FROM_PIN "start-from-pin" "lever {} on pair {} is pinned to address {}"
    CAB_AFTER_HIGHEST "cab-after-highest" "{} is the highest cab-bus address in use, so this chain takes the next"
    CAB_NONE_IN_USE "cab-none-in-use" "no cab-bus address is listed as in use; {} leaves the lowest to the command station"
    BUS_FEEDS_FOUR "bus-feeds-four" "the cab bus feeds up to {} strips, and this is strip {}"
    BUS_FED_OUT "bus-fed-out" "the cab bus feeds up to {} strips, and this is strip {}, so it needs a supply of its own"
    BLOCK_OF_BOARD "block-of-board" "its {} outputs start on a board of {}, and {} is the first address in use there"
    MOST_MACHINES "most-machines" "{} of its {} machines stand there"
    COUNTED "counted" "the plan has {}"
    RAILS_MEET_CROSSED "rails-meet-crossed" "a way round over {} brings the two rails back crossed"
    FEWEST_PROVEN "fewest-proven" "{} tracks to gap is proven to be the fewest"
    FEWEST_WITHIN "fewest-within" "{} tracks to gap is the best found, and {} the least possible"
    DISTRICTS_MEET "districts-meet" "districts {} and {} meet here"
    NAMED_ROUTE "named-route" "route {} of the description asks for this way"
    SHORTEST_WAY "shortest-way" "of the ways that do what is asked it is the shortest"
    SEARCH_CUT "search-cut" "the search was ended before every way had been tried"
    FEWEST_REVERSED "fewest-reversed" "of {} ways between the same stops none reverses fewer machines than its {}"
    LEFT_OF_THOSE "left-of-those" "of those that reverse as few it has the fewest diverging legs, then the least length"
    NO_COILS "no-coils" "no machine has coils, so nothing needs to wait"
    COILS_WITHIN_SUPPLY "coils-within-supply" "{} gives {}, and {} takes {} while it is thrown"
    SUPPLY_NOT_SAID "supply-not-said" "nothing says what {} gives, so one coil machine at a time is safe"
    ONE_TRACK "one-track" "its own length or the longest train is not written, so the section is `{}` alone"
    HOLDS_TRAIN "holds-train" "`{}` is {} long, more than the longest train of {}"
    SECTION_GOES_ON "section-goes-on" "`{}` alone is {}, no longer than the longest train of {}, so the section goes on over its neighbours; its shortest way through is {}"
    NO_WAY_THROUGH "no-way-through" "`{}` alone is {}, no longer than the longest train of {}, so the section goes on over its neighbours; no train can bridge a gap on either side of it"
    NO_WAY_ON "no-way-on" "`{}` is no longer than the longest train of {}, and no tracks beside it were found that make the section long enough"
    LINK_STAYS "link-stays" "a link inside a joint is cut where it is"
    SECTION_ENDS "section-ends" "the reversing section of {} ends here"
    DISTRICT_WRITTEN "district-written" "district {} is written on `{}`"
    DISTRICT_OF_NEIGHBOUR "district-of-neighbour" "no district is written on it, and it is joined to `{}` of district {}"
    DISTRICT_OF_SEVERAL "district-of-several" "no district is written on it, and of those it is joined to ({}) {} comes first"
    CONTACT_MOVES_WITH "contact-moves-with" "a live frog changes polarity with the points of {}"
    CONTACT_OF_MOTOR "contact-of-motor" "it takes contact {} of {} that a `{}` carries"
    CONTACT_TO_ADD "contact-to-add" "a `{}` has no contact left for it, so one has to be added to machine {}"
    CONTACT_ELSEWHERE "contact-elsewhere" "no machine of {} tells which leg is in use, so the contact has to come from a turnout beside it"
    CONTACTS_TAKEN "contacts-taken" "a `{}` carries {} contacts, of which {} are taken"
    NO_MACHINE_TELLS "no-machine-tells" "no one machine of {} tells which leg is in use"
    NOTHING_MOVES "nothing-moves" "nothing moves at a diamond, so no contact tells which line a train is on"
    NONE_FREE "none-free" "no address up to {} is free"
}
