//! Every decision about the controls of a layout, each with its reasons.
//!
//! [`model`] is what a finished plan holds. Each other module makes one kind of decision: numbers, strips, addresses,
//! signals and lights, decoders, parts, power districts, reversing sections with their gaps, the feed of frogs, buses, fascias. They run in that
//! order, each on what the ones before decided. Pins in the description win over
//! everything else. Whether the finished plan is any good is not judged here but in `rules`, which sees only the
//! model; only a wish that cannot be met at all is noted here.

mod accessory;
mod address;
pub mod burst;
pub mod change;
mod choice;
mod decoder;
pub mod diode;
pub mod distance;
mod district;
pub mod facility;
mod fascia;
mod frog;
mod gap;
mod kept;
mod lamp;
pub mod model;
mod number;
mod pairing;
mod part;
pub mod placement;
mod power;
pub mod program;
mod purchase;
mod reason;
mod route_id;
mod section;
mod strip;
pub mod traffic;
pub mod wire;
pub mod wrong_way;

pub use kept::record_of;
pub use lamp::{lamp_resistors, print_resistor};
pub use route_id::route_ids;

use description::record::Record;
use distance::Distances;
use kept::{Kept, explain};
use model::Plan;
use network::{Network, ROUTES_MAX, RouteList, find_routes, follow_rails};
use notice::{Diagnostic, Outcome, Span, code, quoted};

/// Decides everything about the controls of a layout.
///
/// # Example
/// ```
/// let text = r#"
/// [layout]
/// name = "Tern Harbor Terminal"
/// [turnout.1]
/// points = "west"
/// through = "main"
/// diverging = "wharf"
/// hand = "left"
/// [end.west]
/// track = "west"
/// [end.east]
/// track = "main"
/// [end.wharf]
/// track = "wharf"
/// "#;
/// let plan = description::read(text).then(network::resolve).then(plan::make).value;
/// assert_eq!(plan.levers[0].number.value, 1);
/// assert_eq!(plan.routes.len(), 2);
/// ```
pub fn make(network: Network) -> Outcome<Plan> {
    make_kept(network, &Record::default())
}

/// The same where something is built: what the as-built record says stays, and what is new gets what is free.
///
/// Where the two disagree the description wins, and each row that cannot stay is noted. A record of another layout is
/// refused: then the plan is that of nothing built.
///
/// # Example
/// ```
/// use description::record;
/// let built = "schema = 1\nlayout = \"Tern Harbor\"\n[levers]\n1 = { number = 7, moves = [\"1\"] }\n[end]\nwhole = true\n";
/// let text = "[layout]\nname = \"Tern Harbor\"\n[turnout.1]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
///     [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n";
/// let record = record::read(built).value;
/// let plan = description::read(text).then(network::resolve).then(|network| plan::make_kept(network, &record)).value;
/// assert_eq!(plan.levers[0].number.value, 7);
/// ```
pub fn make_kept(network: Network, record: &Record) -> Outcome<Plan> {
    match other_layout(&network, record) {
        None => decide(network, record),
        Some(refused) => {
            let Outcome { value, mut diagnostics } = decide(network, &Record::default());
            diagnostics.push(refused);
            Outcome::new(value, diagnostics)
        }
    }
}

/// Why a record has no say about a network; none where it has.
fn other_layout(network: &Network, record: &Record) -> Option<Diagnostic> {
    let described = &network.described;
    let built = record.layout.as_ref()?;
    let name = &described.layout.name;
    // A description whose name cannot be read may be any.
    if built.value == *name || name.is_empty() {
        return None;
    }
    let says = format!("this is the record of `{}`, and the layout is `{name}`", built.value);
    Some(Diagnostic::error(code::RECORD_OTHER_LAYOUT, built.span, says).help(format!(
        "put the record back beside its own layout.toml; if the layout was renamed, write here\nlayout = {}",
        quoted(name)
    )))
}

fn decide(network: Network, record: &Record) -> Outcome<Plan> {
    let mut notes = Vec::new();
    let kept = Kept::of(&network, record);
    let numbered = number::number_levers(&network, &kept);
    let mut chained = strip::lay_strips(&network, &numbered, &kept, &mut notes);
    let mut addressed = address::assign_addresses(&network, &numbered, &chained, &kept, &mut notes);
    accessory::decide_accessories(
        &network,
        &numbered,
        &mut addressed,
        &mut chained.strips,
        &kept,
        &mut notes,
    );
    let distances = Distances::new(&network.described);
    let driven = decoder::place_decoders(&network, &mut addressed, &distances, &kept);
    let decoder::Driven { decoders, addresses, cable } = driven;
    let parts = part::needed_parts(&chained, &decoders);
    let mut found = find_routes(&network, ROUTES_MAX);
    if !found.complete {
        notes.push(routes_too_many(&network, found.routes.len()));
    }
    let named = choice::find_named(&network, &mut found.routes, &mut notes);
    let preferred = choice::prefer_routes(&network, &found.routes, &named);
    let polarity = follow_rails(&network);
    let districts = district::deal_districts(&network);
    let district_names: Vec<Option<&str>> =
        districts.iter().map(|district| district.as_ref().map(|district| district.value.as_str())).collect();
    let (reversing, gaps) = gap::place_gaps(&network, &polarity, &district_names);
    let frogs = frog::feed_frogs(&network);
    let (levers, accessories) = (addressed.levers, addressed.others);
    let mut plan = Plan {
        findings: kept.findings(&network),
        levers,
        addresses,
        accessories,
        decoders,
        cable,
        strips: chained.strips,
        strips_built: chained.built,
        chains: chained.chains,
        fascias: Vec::new(),
        parts,
        routes: found.routes,
        routes_complete: found.complete,
        named,
        preferred,
        coils_at_once: burst::coils_at_once(&network),
        reversing,
        gaps,
        gaps_fewest: polarity.fewest_bound,
        districts,
        frogs,
        buses: Vec::new(),
        unplaced: addressed.unplaced,
        wires: Vec::new(),
        terminal_strips: Vec::new(),
        module_joints: Vec::new(),
        no_ways: Vec::new(),
        parts_list: Vec::new(),
        wire_list: Vec::new(),
        network,
    };
    plan.buses = power::reckon_buses(&plan);
    plan.fascias = fascia::furnish(&plan);
    plan.parts.extend(part::needed_on_fascias(&plan.fascias));
    let wires_built = kept.wires(&plan);
    wire::lay_wires(&mut plan, &distances, &wires_built);
    notes.extend(explain(&plan, &kept));
    purchase::list_purchases(&mut plan);
    Outcome::new(plan, notes)
}

/// The plan with another list of its routes, such as a longer one. A named route that the list lacks is left out.
#[must_use]
pub fn with_routes(mut plan: Plan, list: RouteList) -> Plan {
    plan.routes = list.routes;
    plan.routes_complete = list.complete;
    let count = plan.routes.len();
    // What cannot be run has been noted when the plan was made.
    plan.named = choice::find_named(&plan.network, &mut plan.routes, &mut Vec::new());
    plan.named.retain(|named| named.route.value < count);
    plan.routes.truncate(count);
    plan.preferred = choice::prefer_routes(&plan.network, &plan.routes, &plan.named);
    plan
}

fn routes_too_many(network: &Network, count: usize) -> Diagnostic {
    let span = network.stops().next().map_or(Span::default(), |stop| network.track(stop).span);
    Diagnostic::warning(
        code::ROUTES_TOO_MANY,
        span,
        format!("this layout has more routes than can be listed; the list ends after {count}"),
    )
    .help("make more tracks stops (`stop = true`), so that each route is shorter; `throwbar show routes --most` lists more")
}
