//! Routes delivered one by one, beside a general graph library on the same graph in the same run, and the routes,
//! locking and polarity of terminals from 50 to 5,000 turnouts.
//!
//! The library gets the grid twice: as plain nodes, and in the shape of tracks, as anyone would have to tell it who wants
//! routes from it. `peers.py` does the same with libraries for Python.
//!
//! The grids are of double slips: at each a train comes from the left or from below and leaves to the right or upwards,
//! so a grid of p by q has (p + q − 2 choose p − 1) routes from corner to corner. `cargo bench -p network`.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench is no product")]

#[path = "../tests/it/terminal.rs"]
mod terminal;

use network::{Network, ROUTES_MAX, Ways, find_routes, follow_rails, lock};
use petgraph::algo::all_simple_paths;
use petgraph::graph::{DiGraph, NodeIndex};
use std::collections::BTreeMap;
use std::fmt::Write as _;

fn main() {
    divan::main();
}

const GRIDS: [(usize, usize); 2] = [(5, 10), (7, 8)];

/// A grid of double slips, with stops at two opposite corners only.
fn grid((rows, columns): (usize, usize)) -> Network {
    let mut text = String::from("[layout]\nname = \"grid\"\n");
    for row in 0..rows {
        for column in 0..columns {
            writeln!(
                text,
                "[slip.\"{row} {column}\"]\none = [\"h {row} {column}\", \"h {row} {}\"]\nother = [\"v {row} {column}\", \"v {} {column}\"]",
                column + 1,
                row + 1
            )
            .unwrap();
        }
    }
    let mut end = |track: String, stop: bool| {
        writeln!(text, "[end.\"{track}\"]\ntrack = \"{track}\"\n[track.\"{track}\"]\nstop = {stop}").unwrap();
    };
    for row in 0..rows {
        end(format!("h {row} 0"), row == 0);
        end(format!("h {row} {columns}"), row + 1 == rows);
    }
    for column in 0..columns {
        end(format!("v 0 {column}"), false);
        end(format!("v {rows} {column}"), false);
    }
    network_of(&text)
}

fn network_of(text: &str) -> Network {
    let outcome = description::read(text).then(network::resolve);
    assert!(!outcome.has_errors());
    outcome.value
}

fn peer_grid((rows, columns): (usize, usize)) -> (DiGraph<(), ()>, NodeIndex, NodeIndex) {
    let mut graph = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..rows * columns).map(|_| graph.add_node(())).collect();
    for row in 0..rows {
        for column in 0..columns {
            let here = nodes[row * columns + column];
            if column + 1 < columns {
                graph.add_edge(here, nodes[row * columns + column + 1], ());
            }
            if row + 1 < rows {
                graph.add_edge(here, nodes[(row + 1) * columns + column], ());
            }
        }
    }
    (graph, nodes[0], nodes[rows * columns - 1])
}

/// The same grid in the shape of tracks: a node is a track and the end it is run towards, `true` for right or up. Tracks
/// that leave the grid are there too, as they are in the network.
fn peer_tracks((rows, columns): (usize, usize)) -> (DiGraph<(), ()>, NodeIndex, NodeIndex) {
    let mut graph = DiGraph::new();
    let mut nodes: BTreeMap<(char, usize, usize, bool), NodeIndex> = BTreeMap::new();
    let mut node = |graph: &mut DiGraph<(), ()>, track: (char, usize, usize), onward: bool| {
        *nodes.entry((track.0, track.1, track.2, onward)).or_insert_with(|| graph.add_node(()))
    };
    for row in 0..rows {
        for column in 0..columns {
            for before in [('h', row, column), ('v', row, column)] {
                for after in [('h', row, column + 1), ('v', row + 1, column)] {
                    for (from, to, onward) in [(before, after, true), (after, before, false)] {
                        let (from, to) = (node(&mut graph, from, onward), node(&mut graph, to, onward));
                        graph.add_edge(from, to, ());
                    }
                }
            }
        }
    }
    let from = node(&mut graph, ('h', 0, 0), true);
    let to = node(&mut graph, ('h', rows - 1, columns), true);
    (graph, from, to)
}

/// Our routes, every track of every one looked at.
#[divan::bench(args = GRIDS)]
fn routes(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    let network = grid(size);
    let ways = Ways::new(&network);
    bencher.bench(|| {
        let mut routes = ways.routes();
        let (mut count, mut tracks) = (0usize, 0usize);
        while let Some(path) = routes.advance() {
            count += 1;
            tracks += path.tracks().iter().map(|track| track.index()).sum::<usize>();
        }
        (count, tracks)
    });
}

/// Our routes, each as a value of its own, with its passes and positions.
#[divan::bench(args = GRIDS)]
fn routes_kept(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    let network = grid(size);
    bencher.bench(|| find_routes(&network, ROUTES_MAX).routes.len());
}

/// The graph library's simple paths on the same grid, every node of every path looked at.
#[divan::bench(args = GRIDS)]
fn petgraph(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    let (graph, from, to) = peer_grid(size);
    bencher.bench(|| walk(&graph, from, to));
}

/// The graph library's simple paths on the same grid in the shape of tracks.
#[divan::bench(args = GRIDS)]
fn petgraph_tracks(bencher: divan::Bencher<'_, '_>, size: (usize, usize)) {
    let (graph, from, to) = peer_tracks(size);
    assert_eq!(walk(&graph, from, to).0, find_routes(&grid(size), ROUTES_MAX).routes.len());
    bencher.bench(|| walk(&graph, from, to));
}

fn walk(graph: &DiGraph<(), ()>, from: NodeIndex, to: NodeIndex) -> (usize, usize) {
    let paths =
        all_simple_paths::<Vec<_>, _, std::collections::hash_map::RandomState>(graph, from, to, 0, None);
    let (mut count, mut nodes) = (0usize, 0usize);
    for path in paths {
        count += 1;
        nodes += path.iter().map(|node| node.index()).sum::<usize>();
    }
    (count, nodes)
}

/// Yards of 23 tracks on either side, 50 machines a yard: 50 to 5,000 machines.
const YARDS: [usize; 7] = [1, 2, 5, 10, 20, 50, 100];

/// The text of a terminal to a network.
#[divan::bench(args = YARDS)]
fn growth_reading(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let text = terminal::terminal(yards, 23);
    bencher.bench(|| network_of(&text).tracks.len());
}

/// All routes of a terminal.
#[divan::bench(args = YARDS)]
fn growth_routes(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let network = network_of(&terminal::terminal(yards, 23));
    bencher.bench(|| find_routes(&network, ROUTES_MAX).routes.len());
}

/// All pairs and the largest set, of at most `LOCKED_ROUTES_MAX` routes.
#[divan::bench(args = YARDS)]
fn growth_locking(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let network = network_of(&terminal::terminal(yards, 23));
    let routes = find_routes(&network, ROUTES_MAX).routes;
    bencher.bench(|| lock(&network, &routes).conflicting_count());
}

/// The polarity of a terminal.
#[divan::bench(args = YARDS)]
fn growth_polarity(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let network = network_of(&terminal::terminal(yards, 23));
    bencher.bench(|| follow_rails(&network).reversing.len());
}

/// Routes, all pairs, the largest set and polarity of a terminal; by its number of yards of 14 tracks.
#[divan::bench(args = [1, 2, 4, 8, 14, 28, 56, 112, 166])]
fn terminal_whole(bencher: divan::Bencher<'_, '_>, yards: usize) {
    let network = network_of(&terminal::terminal(yards, 14));
    bencher.bench(|| {
        let routes = find_routes(&network, ROUTES_MAX).routes;
        let locking = lock(&network, &routes);
        (
            routes.len(),
            locking.conflicting_count(),
            locking.largest.bound,
            follow_rails(&network).reversing.len(),
        )
    });
}
