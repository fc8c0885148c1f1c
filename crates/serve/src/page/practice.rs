//! Faults to practise on: a part of the view of health, for who may maintain, where machines are modelled.

use maud::{Markup, html};

use crate::access::Role;
use crate::app::Panel;
use crate::practice::Practice;
use crate::snapshot::{Snapshot, called};

/// Whether someone may put faults in.
pub(super) fn may(panel: &Panel, role: Role) -> bool {
    role == Role::Maintain && panel.desk().railroad().modelled().next().is_some()
}

pub(super) fn view(panel: &Panel, role: Role, snapshot: &Snapshot) -> Markup {
    let railroad = panel.desk().railroad();
    let number = railroad.modelled().find_map(|(_, machine)| machine.lever).unwrap_or(1);
    html! {
        @if may(panel, role) {
            section #practice tabindex="-1" data-views="health" aria-labelledby="practice-title" {
                h2 #practice-title { "Put in a fault, to practise" }
                p {
                    "Choose what is wrong with a machine of the simulated layout. From its next throw on it fails so, and every page shows what it would show of a real machine: nobody is told what you chose. "
                    "All faults are gone when the panel is closed."
                }
                ul.practice {
                    @for (id, machine) in railroad.modelled() {
                        @let now = Practice::of(snapshot.put_in.get(&machine.name).map(|put_in| put_in.0));
                        @let lever = machine.lever.and_then(|number| snapshot.lever(number));
                        @let field = format!("fault-{}", id.index());
                        li data-spoilt[now != Practice::Sound] {
                            label for=(field) {
                                b { "Machine " (machine.name) }
                                @if let Some(lever) = lever { span { "lever " (lever.number) ", " (called(lever)) } }
                            }
                            select id=(field) data-machine=(machine.name) autocomplete="off" {
                                @for practice in Practice::ALL {
                                    option value=(practice.word()) selected[practice == now] { (practice.says()) }
                                }
                            }
                        }
                    }
                }
                p.act { button #mend-all type="button" { "Mend everything" } }
                p.quiet {
                    "To find a fault, say what was seen: " code { "throwbar show faults --saw \"lever " (number) " does not move\"" } " says what can be wrong and what to try next."
                }
            }
        }
    }
}
