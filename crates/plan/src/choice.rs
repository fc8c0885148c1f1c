//! Which of several routes between two stops is the one to set: the way that the user names, or else the one that reverses
//! the fewest machines.

use crate::model::NamedRoute;
use crate::reason::{FEWEST_REVERSED, LEFT_OF_THOSE, NAMED_ROUTE, SEARCH_CUT, SHORTEST_WAY};
use network::{Cost, Network, Prefer, Route, TrackId, Wanted, best_route, cost_of};
use notice::{Because, Decided, Diagnostic, code};
use std::collections::BTreeMap;

/// Finds the named routes; one that the list of routes lacks, since it was cut, is added to it.
pub(crate) fn find_named(
    network: &Network,
    routes: &mut Vec<Route>,
    notes: &mut Vec<Diagnostic>,
) -> Vec<NamedRoute> {
    let mut named = Vec::new();
    for wanted in &network.wanted {
        let best = best_route(network, &wanted.wish, wanted.prefer);
        let Some(route) = best.route else {
            // A table that could not be read may hold the missing piece.
            if !network.described.unread.anything() {
                notes.push(no_path(network, wanted));
            }
            continue;
        };
        let known = routes.iter().position(|known| *known == route);
        let index = known.unwrap_or_else(|| {
            routes.push(route);
            routes.len() - 1
        });
        let mut why = Decided::new(index, Because::new(&NAMED_ROUTE, [wanted.name.as_str().into()]));
        if wanted.prefer == Prefer::Shortest {
            why = why.and(Because::new(&SHORTEST_WAY, []));
        }
        if !best.proven {
            why = why.and(Because::new(&SEARCH_CUT, []));
        }
        named.push(NamedRoute { name: wanted.name.clone(), span: wanted.span, route: why });
    }
    named
}

/// For each two stops with several routes between them, the one to set; in the order of the routes.
pub(crate) fn prefer_routes(
    network: &Network,
    routes: &[Route],
    named: &[NamedRoute],
) -> Vec<Decided<usize>> {
    let mut between: BTreeMap<(TrackId, TrackId), Vec<usize>> = BTreeMap::new();
    for (index, route) in routes.iter().enumerate() {
        between.entry((route.from(), route.to())).or_default().push(index);
    }
    let mut preferred: Vec<Decided<usize>> = between
        .into_values()
        .filter(|several| several.len() > 1)
        .map(|several| match named.iter().find(|named| several.contains(&named.route.value)) {
            Some(named) => {
                Decided::new(named.route.value, Because::new(&NAMED_ROUTE, [named.name.as_str().into()]))
            }
            None => fewest_reversed(network, routes, &several),
        })
        .collect();
    preferred.sort_by_key(|decided| decided.value);
    preferred
}

fn fewest_reversed(network: &Network, routes: &[Route], several: &[usize]) -> Decided<usize> {
    let costs: Vec<(Cost, usize)> = several
        .iter()
        .map(|&index| (cost_of(network, &routes[index], Prefer::FewestReverse), index))
        .collect();
    let (cost, index) = costs.iter().min().copied().unwrap_or_default();
    let ways = Because::new(&FEWEST_REVERSED, [several.len().into(), cost[0].into()]);
    let decided = Decided::new(index, ways);
    if costs.iter().filter(|other| other.0[0] == cost[0]).count() > 1 {
        decided.and(Because::new(&LEFT_OF_THOSE, []))
    } else {
        decided
    }
}

fn no_path(network: &Network, wanted: &Wanted) -> Diagnostic {
    let name = |track: TrackId| network.track(track).name.as_str();
    let wish = &wanted.wish;
    let narrowed = if wish.via.is_empty() && wish.avoid == network::Avoid::default() {
        "without turning back or passing another stop"
    } else {
        "over the tracks of `via` and around those of `avoid`, without turning back or passing another stop"
    };
    let message = format!(
        "no train can run route `{}`, from `{}` to `{}`, {narrowed}",
        wanted.name,
        name(wish.from),
        name(wish.to)
    );
    Diagnostic::error(code::ROUTE_NO_PATH, wanted.span, message)
        .help("name the stops along the way in routes of their own, or loosen `via` and `avoid`")
}
