//! The page: a drafting sheet with the diagram, every lever as a button, and a title block. It is complete as it comes; the
//! script only keeps it up to date and sends throws.

use std::collections::BTreeMap;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::app::Panel;
use crate::snapshot::{LeverNow, Snapshot, called, look, words};

/// The page of this layout, with its levers as they are in this snapshot.
pub(crate) fn write(panel: &Panel, snapshot: &Snapshot) -> Markup {
    let (layout, diagram, sheet, anchors) = (panel.layout(), panel.diagram(), panel.sheet(), panel.anchors());
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (layout) " · live panel" }
                link rel="stylesheet" href="/assets/panel.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                script type="module" src="/assets/panel.js" {}
            }
            body data-sheet=(sheet) data-link="opening" {
                a.skip href="#levers" { "Go to the levers" }
                (title_block(layout))
                (messages(snapshot))
                main {
                    @if let Some(diagram) = diagram { (figure(diagram)) }
                    (lever_list(snapshot, anchors))
                    (legend())
                }
                (footer())
                // What has changed, for those who hear the page.
                div.unseen #heard role="status" aria-live="polite" {}
            }
        }
    }
}

fn title_block(layout: &str) -> Markup {
    html! {
        header.block {
            h1 { (layout) }
            dl {
                div { dt { "Sheet" } dd { "Live panel" } }
                div { dt { "Railroad" } dd { "Simulated" } }
                div { dt { "This page" } dd #link { "Opening" } }
            }
        }
    }
}

fn messages(snapshot: &Snapshot) -> Markup {
    html! {
        p.caution {
            b { "The layout is simulated: nothing under your benchwork moves." }
            " Software is no safety device. Keep a reachable switch for track power."
        }
        noscript { p.trouble { "This page needs scripts to follow the railroad. Allow them for this address and load the page again." } }
        p.trouble #lost role="alert" hidden {}
        p.trouble #trouble role="alert" hidden[snapshot.trouble.is_none()] {
            @if let Some(trouble) = &snapshot.trouble { (trouble) }
        }
        p.trouble #refused role="alert" hidden {}
    }
}

fn figure(diagram: &str) -> Markup {
    html! {
        section aria-labelledby="diagram" {
            h2 #diagram { "Diagram" }
            figure {
                // A wide railroad is scrolled sideways on a phone, and a scrolling region must be reachable by keyboard.
                div.railroad tabindex="0" role="region" aria-label="Track diagram. Each of its levers is a button in the list below." {
                    (PreEscaped(diagram))
                }
                figcaption {
                    "Tap a lever’s number or its turnout to throw it to the other position."
                    span { " Slide the diagram sideways to see the rest of it." }
                }
            }
        }
    }
}

fn lever_list(snapshot: &Snapshot, anchors: &BTreeMap<String, String>) -> Markup {
    html! {
        section aria-labelledby="levers" {
            h2 #levers tabindex="-1" { "Levers" }
            @if snapshot.levers.is_empty() {
                p { "This layout has no levers yet. Describe a turnout and start the panel again." }
            }
            ul.levers {
                // A decoder's label leads to the first of its levers.
                @for lever in &snapshot.levers { li id=[anchors.get(&lever.id)] { (button(lever)) } }
            }
        }
    }
}

fn button(lever: &LeverNow) -> Markup {
    let next = lever.next().word();
    html! {
        button.lever type="button" data-number=(lever.number) data-lever=(lever.id) data-state=(look(lever.sight)) data-next=(next) {
            span.plate { span.unseen { "Lever " } (lever.number) span.unseen { ", " } }
            span.name { (called(lever)) span.unseen { ", " } }
            (sign())
            span.says { (words(lever)) }
            span.act { span.unseen { ". " } "Throw to " span.next { (next) } }
        }
    }
}

/// All shapes at once; the style sheet shows the one that fits the state. Shape and stroke differ as well as colour.
fn sign() -> Markup {
    html! {
        svg.sign viewBox="0 0 24 24" aria-hidden="true" focusable="false" {
            circle.normal cx="12" cy="12" r="8" {}
            path.reverse d="M12 2 22 12 12 22 2 12Z" {}
            path.unknown d="M4 4H20V20H4Z" {}
        }
    }
}

fn legend() -> Markup {
    let entries = [
        ("normal", "Normal", "it has reported so"),
        ("reverse", "Reverse", "it has reported so"),
        ("to-reverse", "Moving", "sent, and yet to report"),
        ("unknown", "Not known", "it has never reported"),
        ("overdue", "No report", "sent, and no report in time: go and look"),
    ];
    html! {
        section.legend aria-labelledby="legend" {
            h2 #legend { "How to read it" }
            ul {
                @for (state, word, meaning) in entries {
                    li data-state=(state) { (sign()) span { b { (word) } " · " (meaning) } }
                }
            }
        }
    }
}

fn footer() -> Markup {
    html! {
        footer {
            p {
                "Every page that is open shows the same railroad. A position is shown only when the machine has reported it. "
                "Positions are kept when the panel is closed."
            }
        }
    }
}
