//! The view of levers: each with its number, name, position, two large buttons and a lock.

use maud::{Markup, html};

use super::parts::sign;
use crate::app::Panel;
use crate::snapshot::{LeverNow, Snapshot, called, hint, look, words};

pub(super) fn view(panel: &Panel, snapshot: &Snapshot) -> Markup {
    html! {
        section #levers tabindex="-1" data-views="levers" aria-labelledby="levers-title" {
            h2 #levers-title { "Levers" }
            @if snapshot.levers.is_empty() {
                p { "This layout has no levers yet. Describe a turnout and start the panel again." }
            } @else {
                div.find {
                    label for="find" { "Find a lever" }
                    input #find type="search" autocomplete="off" placeholder="Number or name";
                }
            }
            ul.levers {
                // A decoder's label leads to the first of its levers.
                @for lever in &snapshot.levers { li id=[panel.anchors().get(&lever.id)] { (row(lever)) } }
            }
            p.quiet #none-found hidden { "No lever has that number or name." }
        }
    }
}

fn row(lever: &LeverNow) -> Markup {
    let (number, called) = (lever.number, called(lever));
    html! {
        div.lever role="group" aria-label={ "Lever " (number) ", " (called) } data-number=(number) data-lever=(lever.id) data-state=(look(lever.sight)) data-next=(lever.next().word()) data-locked[lever.lock.is_some()] data-held[lever.route.is_some()] {
            span.plate aria-hidden="true" { (number) }
            span.name { (called) }
            (sign())
            span.says { (words(lever)) }
            p.why {
                @if let Some(lock) = &lever.lock { "Locked: “" (lock.note) "”" }
                @else if let Some(route) = &lever.route { "Held by " (route) }
            }
            p.hint { @if let Some((hint, at)) = hint(lever) { (hint) " " a.button href=(at) { "Find the fault" } } }
            div.throws {
                @for position in ["normal", "reverse"] {
                    button.to type="button" data-position=(position) aria-label={ "Lever " (number) ", " (called) ", " (words(lever)) ". Throw to " (position) } {
                        svg.shape viewBox="0 0 24 24" aria-hidden="true" focusable="false" {
                            @if position == "normal" { circle cx="12" cy="12" r="8" {} } @else { path d="M12 2 22 12 12 22 2 12Z" {} }
                        }
                        (if position == "normal" { "Normal" } else { "Reverse" })
                    }
                }
                button.lock type="button" aria-label={ @if lever.lock.is_some() { "Unlock lever " } @else { "Lock lever " } (number) } {
                    @if lever.lock.is_some() { "Unlock" } @else { "Lock…" }
                }
            }
        }
    }
}
