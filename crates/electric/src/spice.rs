//! A circuit as a netlist that any SPICE reads: for users who want a second opinion, and for our own tests.
//!
//! Where points are pairs, out and return are two resistors, so that the netlist does not share our step of adding them. Points are
//! numbered; comments give their names. Each piece has one return at ground; what no supply feeds is left out, since no simulator
//! finds a voltage for it.

use crate::circuit::{Circuit, Draw, Load, NodeId, OHMS_MIN, Run, Supply};
use std::fmt::Write as _;

/// Which points belong together, and where each piece is grounded.
struct Pieces {
    /// By point: the piece, named by its lowest point.
    of: Vec<usize>,
    /// By point: whether its return is the ground of pairs.
    grounded: Vec<bool>,
    /// By piece: whether a supply feeds it.
    fed: Vec<bool>,
}

impl Pieces {
    fn new(circuit: &Circuit) -> Self {
        let count = circuit.nodes.len();
        let mut of: Vec<usize> = (0..count).collect();
        let mut joined = vec![Vec::new(); count];
        let runs = circuit.runs.iter().filter(|run| !run.open).map(|run| (run.from.0, run.to.0));
        let supplies = circuit.supplies.iter().filter_map(|supply| Some((supply.node.0, supply.back?.0)));
        for (a, b) in runs.chain(supplies) {
            joined[a].push(b);
            joined[b].push(a);
        }
        let mut seen = vec![false; count];
        for first in 0..count {
            let mut open = vec![first];
            while let Some(node) = open.pop() {
                if !std::mem::replace(&mut seen[node], true) {
                    of[node] = first;
                    open.extend(&joined[node]);
                }
            }
        }
        let (mut grounded, mut fed) = (vec![false; count], vec![false; count]);
        for supply in &circuit.supplies {
            let piece = of[supply.node.0];
            grounded[supply.node.0] |= !fed[piece];
            fed[piece] = true;
        }
        Self { of, grounded, fed }
    }

    fn feeds(&self, node: NodeId) -> bool {
        self.fed[self.of[node.0]]
    }
}

/// Circuits of pairs side by side as one, each point with its circuit's name before its own.
pub fn side_by_side(circuits: &[(&str, &Circuit)]) -> Circuit {
    let mut all = Circuit::default();
    for &(name, circuit) in circuits {
        let first = all.nodes.len();
        let moved = |node: NodeId| NodeId(node.0 + first);
        let named = |id: &str| format!("{name}: {id}");
        all.nodes.extend(circuit.nodes.iter().map(|node| named(node)));
        all.runs.extend(circuit.runs.iter().map(|run| Run {
            id: named(&run.id),
            from: moved(run.from),
            to: moved(run.to),
            ..run.clone()
        }));
        all.supplies.extend(circuit.supplies.iter().map(|supply| Supply {
            id: named(&supply.id),
            node: moved(supply.node),
            ..supply.clone()
        }));
        all.loads.extend(circuit.loads.iter().map(|load| Load {
            id: named(&load.id),
            node: moved(load.node),
            ..load.clone()
        }));
    }
    all
}

impl Circuit {
    /// The netlist, with an operating point that prints the volts of every point.
    pub fn spice(&self, title: &str) -> String {
        let row = |text: &str| text.replace(['\n', '\r'], " ");
        let pieces = Pieces::new(self);
        let mut text = format!("* {}\n", row(title));
        for (index, name) in self.nodes.iter().enumerate() {
            let fed = if pieces.feeds(NodeId(index)) { "" } else { ", which no supply feeds" };
            let _ =
                writeln!(text, "* {} is {}{fed}", self.terminals(&pieces, NodeId(index), None).0, row(name));
        }
        let carries = |run: &&Run| !run.open && run.from != run.to && pieces.feeds(run.from);
        for (index, run) in self.runs.iter().enumerate().filter(|(_, run)| carries(run)) {
            let _ = writeln!(text, "* run {}", row(&run.id));
            let ((from, from_back), (to, to_back)) =
                (self.terminals(&pieces, run.from, None), self.terminals(&pieces, run.to, None));
            if run.ohms < OHMS_MIN {
                let _ = writeln!(text, "Vr{index} {from} {to} 0");
                if self.reference.is_none() {
                    let _ = writeln!(text, "Vr{index}b {from_back} {to_back} 0");
                }
            } else if self.reference.is_none() {
                let half = run.ohms / 2.0;
                let _ = writeln!(
                    text,
                    "Rr{index} {from} {to} {half:?}\nRr{index}b {from_back} {to_back} {half:?}"
                );
            } else {
                let _ = writeln!(text, "Rr{index} {from} {to} {:?}", run.ohms);
            }
        }
        self.spice_supplies(&pieces, &mut text);
        self.spice_loads(&pieces, &mut text);
        text.push_str(".options reltol=1e-13 abstol=1e-15 vntol=1e-14 gmin=1e-20 itl1=2000\n.control\nset numdgt=15\nop\n");
        for index in (0..self.nodes.len()).filter(|&index| pieces.feeds(NodeId(index))) {
            let (node, back) = self.terminals(&pieces, NodeId(index), None);
            let _ = match (self.reference, back.as_str()) {
                (Some(reference), _) if reference.0 == index => Ok(()),
                (_, "0") => writeln!(text, "print v({node})"),
                (_, back) => writeln!(text, "print v({node},{back})"),
            };
        }
        text.push_str("quit\n.endc\n.end\n");
        text
    }

    /// The names of a point's two terminals.
    fn terminals(&self, pieces: &Pieces, node: NodeId, back: Option<NodeId>) -> (String, String) {
        let name =
            |node: NodeId| if self.reference == Some(node) { "0".to_owned() } else { format!("n{}", node.0) };
        match (self.reference, back) {
            (Some(_), Some(back)) => (name(node), name(back)),
            (Some(_), None) => (name(node), "0".to_owned()),
            (None, _) => {
                (name(node), if pieces.grounded[node.0] { "0".to_owned() } else { format!("m{}", node.0) })
            }
        }
    }

    fn spice_supplies(&self, pieces: &Pieces, text: &mut String) {
        for (index, supply) in self.supplies.iter().enumerate() {
            let (node, back) = self.terminals(pieces, supply.node, supply.back);
            let _ = writeln!(text, "* supply {}", supply.id.replace(['\n', '\r'], " "));
            if supply.source_ohms < OHMS_MIN {
                let _ = writeln!(text, "Vs{index} {node} {back} {:?}", supply.volts);
            } else {
                let _ = writeln!(
                    text,
                    "Vs{index} s{index} {back} {:?}\nRs{index} s{index} {node} {:?}",
                    supply.volts, supply.source_ohms
                );
            }
        }
    }

    fn spice_loads(&self, pieces: &Pieces, text: &mut String) {
        let most = self.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
        for (index, load) in self.loads.iter().enumerate().filter(|(_, load)| pieces.feeds(load.node)) {
            let (node, back) = self.terminals(pieces, load.node, load.back);
            let _ = writeln!(text, "* load {}", load.id.replace(['\n', '\r'], " "));
            let _ = match load.draw {
                Draw::Amps(amps) => writeln!(text, "Il{index} {node} {back} {amps:?}"),
                Draw::Ohms(ohms) => writeln!(text, "Rl{index} {node} {back} {ohms:?}"),
                // Begun from the high side, where the right solution is.
                Draw::Watts(watts) => writeln!(
                    text,
                    "Bl{index} {node} {back} I={watts:?}/V({node},{back})\n.nodeset v({node})={most:?}"
                ),
            };
        }
    }
}
