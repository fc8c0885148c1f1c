//! A circuit as a netlist that any SPICE reads: for users who want a second opinion, and for our own tests.
//!
//! Where points are pairs, out and return are two resistors, so that the netlist does not share our step of adding them. Points are
//! numbered; comments give their names.

use crate::circuit::{Circuit, Draw, NodeId, OHMS_MIN};
use std::fmt::Write as _;

impl Circuit {
    /// The netlist, with an operating point that prints the volts of every point.
    pub fn spice(&self, title: &str) -> String {
        let row = |text: &str| text.replace(['\n', '\r'], " ");
        let mut text = format!("* {}\n", row(title));
        for (index, name) in self.nodes.iter().enumerate() {
            let _ = writeln!(text, "* {} is {}", self.terminals(NodeId(index), None).0, row(name));
        }
        for (index, run) in self.runs.iter().enumerate().filter(|(_, run)| !run.open && run.from != run.to) {
            let _ = writeln!(text, "* run {}", row(&run.id));
            let ((from, from_back), (to, to_back)) =
                (self.terminals(run.from, None), self.terminals(run.to, None));
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
        self.spice_supplies(&mut text);
        self.spice_loads(&mut text);
        text.push_str(".options reltol=1e-13 abstol=1e-15 vntol=1e-14 gmin=1e-20 itl1=2000\n.control\nset numdgt=15\nop\n");
        for index in 0..self.nodes.len() {
            let (node, back) = self.terminals(NodeId(index), None);
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
    fn terminals(&self, node: NodeId, back: Option<NodeId>) -> (String, String) {
        let name =
            |node: NodeId| if self.reference == Some(node) { "0".to_owned() } else { format!("n{}", node.0) };
        match (self.reference, back) {
            (Some(_), Some(back)) => (name(node), name(back)),
            (Some(_), None) => (name(node), "0".to_owned()),
            // The first supply's return is the ground of pairs.
            (None, _) => {
                let grounded = self.supplies.first().is_some_and(|supply| supply.node == node);
                (name(node), if grounded { "0".to_owned() } else { format!("m{}", node.0) })
            }
        }
    }

    fn spice_supplies(&self, text: &mut String) {
        for (index, supply) in self.supplies.iter().enumerate() {
            let (node, back) = self.terminals(supply.node, supply.back);
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

    fn spice_loads(&self, text: &mut String) {
        let most = self.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
        for (index, load) in self.loads.iter().enumerate() {
            let (node, back) = self.terminals(load.node, load.back);
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
