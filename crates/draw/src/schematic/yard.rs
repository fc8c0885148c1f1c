//! Which spurs are a yard: three or more that leave one chain to the same side, one after the other, each a single track
//! to its end. They are drawn in parallel, at one slope, and all stop together, as does the track they leave if it
//! stops right after the last of them.

use super::chain::{Chain, Chains, Tie, is_connector, rises, stops};
use super::graph::{Graph, Side};
use super::sweep::goes_on;
use network::Network;

/// The fewest spurs side by side that make a yard.
const YARD_MIN: usize = 3;

/// The most: a longer row of spurs is a main with industries along it, not a yard.
const YARD_MAX: usize = 30;

/// The ends of each yard.
pub(crate) fn yards(graph: &Graph, chains: &Chains, network: &Network) -> Vec<Vec<usize>> {
    let mut yards = Vec::new();
    for chain in &chains.list {
        for (side, up) in [(Side::Left, true), (Side::Left, false), (Side::Right, true), (Side::Right, false)]
        {
            for mut yard in runs(graph, chains, chain, side, up) {
                if (YARD_MIN..=YARD_MAX).contains(&yard.len()) {
                    yard.extend(end_of_lead(graph, network, chain, side, &yard));
                    yards.push(yard);
                }
            }
        }
    }
    yards
}

/// Ends of spurs that leave a chain one after the other.
fn runs(graph: &Graph, chains: &Chains, chain: &Chain, side: Side, up: bool) -> Vec<Vec<usize>> {
    let mut runs = vec![Vec::new()];
    for &node in &chain.nodes {
        let legs = graph.darts_on(node, side).into_iter();
        for dart in legs.filter(|&dart| graph.level_run(dart).is_none() && rises(graph, dart) == up) {
            let to = graph.darts[graph.across(dart)].node;
            let spur = &chains.list[chains.of_edge[graph.darts[dart].edge]];
            let plain = spur.edges.len() == 1 && spur.ties.contains(&Tie::Free) && !is_connector(graph, to);
            match runs.last_mut() {
                Some(run) if plain => run.push(to),
                _ => runs.push(Vec::new()),
            }
        }
    }
    runs
}

/// The end of the track that a yard leaves, if it follows the last spur.
fn end_of_lead(graph: &Graph, network: &Network, chain: &Chain, side: Side, yard: &[usize]) -> Option<usize> {
    let (end, before, last) = match (side, chain.nodes.as_slice()) {
        (Side::Right, [.., before, end]) => (*end, *before, *yard.last()?),
        (Side::Left, [end, before, ..]) => (*end, *before, *yard.first()?),
        _ => return None,
    };
    let follows = graph.darts[graph.across(graph.nodes[last].darts[0])].node == before;
    let plain = stops(graph, end, side.other()) && !is_connector(graph, end) && !goes_on(graph, network, end);
    (follows && plain).then_some(end)
}
