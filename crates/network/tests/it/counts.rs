//! Counts of routes against published counts of simple paths in grids and ladders.
//!
//! In the graphs of the source a path may leave a node by any arm but the one it came by, and visits no node twice. In
//! tracks that takes several joints to a node, and something that every way through the node has in common:
//!
//! ```text
//! three arms                            four arms: every way runs from left to right over the track in the middle
//!        │                                up ──●──────╮            ╭── up, the other leg of ●
//!        ●                                      left ─●── middle ──●─ right
//!       ╱ ╲   any two ways share        down ──●──────╯            ╰── down, the other leg of ●
//!    ──●───●──    a turnout
//! ```
//!
//! With three arms there is one way for each pair of arms, so in ladders routes and paths are in one-to-one relation. With
//! four arms there is one way for each pair but `up` and `down`, which have two (either may be the one on the left); no
//! arrangement was found that has just one. So in grids each path is told by as many routes as it has such choices, and
//! both numbers are checked: how many paths the routes tell, and how many routes tell each.
//!
//! # Source
//! `reference/graphs/simple_paths.json`: square grids are OEIS A007764, the others two searches that share no code.

use network::{RouteList, find_routes};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

const COUNTS: &str = include_str!("../../../../reference/graphs/simple_paths.json");

/// The most paths of a grid that a test walks.
const PATHS_MAX: usize = 1_500;

type Node = (usize, usize);

/// An edge between neighbours, the upper or left one first.
type Edge = (Node, Node);

/// A grid told in tracks.
struct Grid {
    rows: usize,
    columns: usize,
    text: String,
    /// The edges that each track between nodes stands for: one, or the two that meet in a corner.
    edges_of: BTreeMap<String, Vec<Edge>>,
    track_of: BTreeMap<Edge, String>,
}

impl Grid {
    fn new(rows: usize, columns: usize) -> Self {
        let text = String::from("[layout]\nname = \"grid\"\n");
        let mut grid = Self { rows, columns, text, edges_of: BTreeMap::new(), track_of: BTreeMap::new() };
        let nodes = || (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
        for (row, column) in nodes() {
            for to in [(row, column + 1), (row + 1, column)] {
                if to.0 < rows && to.1 < columns {
                    grid.name(((row, column), to));
                }
            }
        }
        for node in nodes() {
            grid.write(node);
        }
        grid
    }

    /// Names the track of an edge. The two corners that no path starts or ends at are nothing but a bend in a track.
    fn name(&mut self, edge: Edge) {
        let (last_row, last_column) = (self.rows - 1, self.columns - 1);
        let bend = [edge.0, edge.1].into_iter().find(|node| [(0, last_column), (last_row, 0)].contains(node));
        let name = match bend {
            Some(corner) => format!("bend {corner:?}"),
            None => format!("{edge:?}"),
        };
        self.edges_of.entry(name.clone()).or_default().push(edge);
        self.track_of.insert(edge, name);
    }

    /// The arms of a node: up, down, left, right.
    fn arms(&self, (row, column): Node) -> [Option<&String>; 4] {
        let edge = |from: Option<Node>, to: Node| from.and_then(|from| self.track_of.get(&(from, to)));
        [
            edge(row.checked_sub(1).map(|row| (row, column)), (row, column)),
            edge(Some((row, column)), (row + 1, column)),
            edge(column.checked_sub(1).map(|column| (row, column)), (row, column)),
            edge(Some((row, column)), (row, column + 1)),
        ]
    }

    fn write(&mut self, node: Node) {
        let arms: Vec<String> = self.arms(node).into_iter().flatten().cloned().collect();
        let inside = |name: &str| format!("{name} {node:?}");
        let mut turnouts: Vec<[String; 3]> = Vec::new();
        match arms.as_slice() {
            [a, b] if a != b => {
                turnouts.push([inside("stop"), a.clone(), b.clone()]);
                writeln!(self.text, "[end.\"{node:?}\"]\ntrack = \"{}\"", inside("stop")).unwrap();
            }
            [a, b, c] => turnouts.extend([
                [a.clone(), inside("ab"), inside("ca")],
                [b.clone(), inside("ab"), inside("bc")],
                [c.clone(), inside("bc"), inside("ca")],
            ]),
            [up, down, left, right] => {
                turnouts.push([up.clone(), inside("up left"), inside("up right")]);
                turnouts.push([down.clone(), inside("down left"), inside("down right")]);
                for (side, arm) in [("left", left), ("right", right)] {
                    writeln!(
                        self.text,
                        "[threeway.\"{node:?} {side}\"]\npoints = \"{}\"\nthrough = \"{arm}\"\nleft = \"{}\"\nright = \"{}\"",
                        inside("middle"),
                        inside(&format!("up {side}")),
                        inside(&format!("down {side}"))
                    )
                    .unwrap();
                }
            }
            _ => {}
        }
        for [points, through, diverging] in turnouts {
            writeln!(
                self.text,
                "[turnout.\"{node:?} {points}\"]\npoints = \"{points}\"\nthrough = \"{through}\"\ndiverging = \"{diverging}\"\nhand = \"left\""
            )
            .unwrap();
        }
    }

    /// The paths that the routes tell, as sets of edges, with the number of routes that tell each.
    fn paths_told(&self) -> BTreeMap<BTreeSet<Edge>, usize> {
        let read = description::read(&self.text).then(network::resolve);
        assert!(!read.has_errors(), "{:?}", read.diagnostics);
        let RouteList { routes, complete } = find_routes(&read.value, usize::MAX);
        assert!(complete);
        let mut told = BTreeMap::new();
        for route in routes {
            let names = route.tracks.iter().map(|&track| &read.value.track(track).name);
            let edges = names.filter_map(|name| self.edges_of.get(name)).flatten().copied().collect();
            *told.entry(edges).or_default() += 1;
        }
        told
    }

    /// How many of its edges lead to each node of a path.
    fn arms_used(path: &BTreeSet<Edge>) -> BTreeMap<Node, usize> {
        let mut used = BTreeMap::new();
        for node in path.iter().flat_map(|edge| [edge.0, edge.1]) {
            *used.entry(node).or_default() += 1;
        }
        used
    }

    /// How many ways there are to run along a path: two at each node of four arms that it runs through up and down.
    fn routes_along(&self, path: &BTreeSet<Edge>) -> usize {
        let is_double = |&&(row, column): &&Node| {
            let vertical = row > 0
                && path.contains(&((row - 1, column), (row, column)))
                && path.contains(&((row, column), (row + 1, column)));
            vertical && self.arms((row, column)).iter().all(Option::is_some)
        };
        1 << Self::arms_used(path).keys().filter(is_double).count()
    }
}

fn count(entry: &Value, key: &str) -> usize {
    usize::try_from(entry[key].as_u64().expect(key)).unwrap()
}

#[test]
fn ladders_have_a_route_for_every_published_path() {
    let source: Value = serde_json::from_str(COUNTS).unwrap();
    let mut compared = 0;
    for ladder in source["ladders"].as_array().unwrap() {
        let (rungs, paths) = (count(ladder, "rungs"), count(ladder, "paths_corner_to_opposite_corner"));
        if paths <= PATHS_MAX {
            let told = Grid::new(2, rungs).paths_told();
            assert_eq!(told.len(), paths, "{rungs} rungs");
            assert!(told.values().all(|routes| *routes == 1), "{rungs} rungs: {told:?}");
            compared += 1;
        }
    }
    assert_eq!(compared, 10, "2 to 11 rungs");
}

#[test]
fn grids_have_routes_along_every_published_path_and_along_nothing_else() {
    let source: Value = serde_json::from_str(COUNTS).unwrap();
    let mut compared = 0;
    for grid in source["grids"].as_array().unwrap() {
        let (rows, columns) = (count(grid, "rows"), count(grid, "columns"));
        let paths = count(grid, "simple_paths_corner_to_opposite_corner");
        if paths > PATHS_MAX {
            continue;
        }
        let grid = Grid::new(rows, columns);
        let told = grid.paths_told();
        assert_eq!(told.len(), paths, "{rows} by {columns}");
        for (path, routes) in &told {
            let corners = [(0, 0), (rows - 1, columns - 1)];
            for (node, arms) in Grid::arms_used(path) {
                let expected = if corners.contains(&node) { 1 } else { 2 };
                assert_eq!(arms, expected, "{rows} by {columns}: {node:?} of {path:?}");
            }
            assert_eq!(*routes, grid.routes_along(path), "{rows} by {columns}: {path:?}");
        }
        compared += 1;
    }
    assert_eq!(compared, 13, "up to 4 by 5");
}
