//! Every decision about the controls of a layout, each with its reasons.
//!
//! [`model`] is what a finished plan holds. Each other module makes one kind of decision: numbers, strips, addresses,
//! decoders, parts, power districts, reversing sections with their gaps, the feed of frogs, fascias. They run in that
//! order, each on what the ones before decided. Pins in the description win over
//! everything else. Whether the finished plan is any good is not judged here but in `rules`, which sees only the
//! model; only a wish that cannot be met at all is noted here.

mod address;
pub mod burst;
mod choice;
mod decoder;
pub mod diode;
pub mod distance;
mod district;
pub mod facility;
mod fascia;
mod frog;
mod gap;
pub mod model;
mod number;
mod part;
pub mod placement;
mod reason;
mod section;
mod strip;

use model::Plan;
use network::{Network, ROUTES_MAX, RouteList, find_routes, follow_rails};
use notice::{Diagnostic, Outcome, Span, code};

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
    let mut notes = Vec::new();
    let numbered = number::number_levers(&network);
    let chained = strip::lay_strips(&network, &numbered, &mut notes);
    let addressed = address::assign_addresses(&network, &numbered, &chained, &mut notes);
    let (decoders, addresses) = decoder::place_decoders(&network, &addressed);
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
    let levers = addressed.levers;
    let unplaced = addressed.unplaced;
    let mut plan = Plan {
        levers,
        addresses,
        decoders,
        strips: chained.strips,
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
        unplaced,
        network,
    };
    plan.fascias = fascia::furnish(&plan);
    plan.parts.extend(part::needed_on_fascias(&plan.fascias));
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
