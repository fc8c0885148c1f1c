//! The page: a drafting sheet in five views. It comes complete, with everything as it is in one snapshot; the scripts only
//! keep it up to date, turn from view to view and send what people ask for. Without scripts all views stand one below the other.

pub(crate) mod commissioning;
pub(crate) mod enter;
pub(crate) mod faults;
mod levers;
mod parts;
mod practice;
mod routes;

use live::Railroad;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::access::Role;
use crate::app::Panel;
use crate::snapshot::Snapshot;
use crate::told::{PanelTold, last_throw_words, stop_words};

/// The views, each with its word in the address and the word people read.
const VIEWS: [(&str, &str); 5] = [
    ("railroad", "Railroad"),
    ("routes", "Routes"),
    ("levers", "Levers"),
    ("log", "Log"),
    ("health", "Health"),
];

/// The page of this layout, with everything as it is in this snapshot.
pub(crate) fn write(panel: &Panel, role: Role, snapshot: &Snapshot) -> Markup {
    let (layout, sheet) = (&panel.layout(), &panel.sheet_of(snapshot));
    // What the stream would tell first, so that the diagram is drawn before it does. It is made of plain data.
    let told = PanelTold::since(&snapshot.railroad, snapshot, None, sheet);
    let told = serde_json::to_string(&told).unwrap_or_default();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="theme-color" content="#FBFAF7" media="(prefers-color-scheme: light)";
                meta name="theme-color" content="#14191E" media="(prefers-color-scheme: dark)";
                title { (layout) " · live panel" }
                link rel="stylesheet" href="/assets/panel.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                link rel="manifest" href="/panel.webmanifest" crossorigin="use-credentials";
                script type="module" src="/assets/panel.js" {}
            }
            body data-role=(role.word()) data-sheet=(sheet) data-link="opening" data-told=(told) {
                (title_block(layout, &snapshot.railroad))
                (bar())
                main {
                    (messages(&snapshot.railroad, snapshot))
                    @if role == Role::Look { p.caution { b { "This device may only look. " } "It can stop everything, and throws nothing. " a href="/enter" { "Enter with another key" } } }
                    (last_throw(snapshot))
                    (routes::choice(panel))
                    @if let Some(diagram) = panel.diagram() { (figure(&diagram)) }
                    (routes::view(panel, snapshot))
                    (levers::view(panel, snapshot))
                    (parts::log(panel, role))
                    (parts::health(panel, role, snapshot))
                    (practice::view(panel, role, snapshot))
                    (parts::legend())
                    p.keys { "By keyboard, in every view: type a lever’s number, then " kbd { "N" } " for normal or " kbd { "R" } " for reverse." }
                }
                (parts::dialogs())
                p.typed #typed role="status" aria-live="polite" hidden {}
                // What has changed, for those who hear the page.
                div.unseen #heard role="status" aria-live="polite" {}
            }
        }
    }
}

fn title_block(layout: &str, railroad: &Railroad) -> Markup {
    html! {
        header.block {
            a.skip href="#levers" { "Go to the levers" }
            h1 { (layout) }
            dl {
                div { dt { "Sheet" } dd #sheet { "Live panel" } }
                div { dt { "Railroad" } dd { (kind(railroad)) } }
                div { dt { "This page" } dd #link { "Opening" } }
            }
        }
    }
}

/// Always in sight: where to turn to, and the stop.
fn bar() -> Markup {
    html! {
        section.bar aria-label="Views, and the stop" {
            nav aria-label="Views" {
                @for (view, word) in VIEWS { a href={ "#" (view) } data-to=(view) { (word) } }
            }
            p.keys { "By keyboard: a lever’s number, then " kbd { "N" } " normal or " kbd { "R" } " reverse" }
            button.stop #stop type="button" {
                b { "Stop all" }
                span { "no safety device" }
            }
        }
    }
}

fn messages(railroad: &Railroad, snapshot: &Snapshot) -> Markup {
    html! {
        p.caution {
            b { (what_moves(railroad)) " " }
            "“Stop all” asks trains to stop and lets nothing be thrown. Software is no safety device: keep a reachable switch for track power."
        }
        noscript { p.trouble { "This page needs scripts to follow the railroad. Allow them for this address and load the page again." } }
        (stopped(snapshot))
        p.trouble #lost role="alert" hidden {}
        p.trouble #trouble role="alert" hidden[snapshot.trouble.is_none()] {
            @if let Some(trouble) = &snapshot.trouble { (trouble) }
        }
        (refused())
    }
}

/// That everything is stopped, and how to go on: on every page that has the stop.
fn stopped(snapshot: &Snapshot) -> Markup {
    html! {
        div.stopped #stopped role="alert" hidden[snapshot.stopped.is_none()] {
            p {
                b #stopped-says { @if let Some(stop) = &snapshot.stopped { (stop_words(stop)) } }
                " If anyone is in danger, switch off track power by hand. Look at the railroad before you let it go on."
            }
            button #resume type="button" { "Let it go on" }
        }
    }
}

/// Why something was refused, and the way to the route that is in its way.
fn refused() -> Markup {
    html! {
        div.refused #refused role="alert" hidden {
            p #refused-says {}
            div.act {
                a.button #refused-route href="/#set-routes" hidden { "Show that route" }
                button type="button" #refused-close { "All right" }
            }
        }
    }
}

/// Simulated only when all of it is: where one machine is real, a hand may be under it.
fn kind(railroad: &Railroad) -> &'static str {
    if railroad.is_simulated() { "Simulated" } else { "Real points" }
}

/// Whether pressing a button moves real points.
fn what_moves(railroad: &Railroad) -> &'static str {
    let is_simulated = |link: &live::Reach| link.is_simulated();
    if railroad.is_simulated() {
        "The layout is simulated: nothing under your benchwork moves."
    } else if railroad.links().iter().any(is_simulated) {
        "Real points move under the benchwork; some machines are only simulated."
    } else {
        "Real points move under the benchwork: look before you throw."
    }
}

fn last_throw(snapshot: &Snapshot) -> Markup {
    // What cannot be undone is not offered.
    let last = snapshot.last_throw.filter(|(_, back)| back.is_some());
    let says = last.map(|(lever, back)| last_throw_words(lever, back));
    html! {
        div.last #last data-views="railroad routes levers" hidden[says.is_none()] {
            p #last-says { @if let Some(says) = says { (says) } }
            button type="button" #undo { "Undo" }
        }
    }
}

fn figure(diagram: &str) -> Markup {
    html! {
        section data-views="railroad routes" aria-labelledby="diagram" {
            div.head {
                h2 #diagram { "Track diagram" }
                div.zoom #zoom role="group" aria-label="Size of the diagram" hidden {
                    button type="button" data-zoom="smaller" aria-label="Smaller" { "−" }
                    button type="button" data-zoom="whole" { "Whole" }
                    button type="button" data-zoom="larger" aria-label="Larger" { "+" }
                }
            }
            figure {
                // A wide railroad is scrolled sideways on a phone, and a scrolling region must be reachable by keyboard.
                div.railroad tabindex="0" role="region" aria-label="Track diagram. Each of its levers is in the list of levers, each of its stops in the list of routes." {
                    (PreEscaped(diagram))
                }
                figcaption {
                    span data-views="railroad" { "Tap a turnout or its number to throw it to the other position; tap the name of a stop to set a route from there. " }
                    span data-views="routes" { "Tap the name of a stop, or choose it above. " }
                    span.slide { "Slide the diagram to see the rest of it; two fingers make it larger or smaller." }
                }
            }
        }
    }
}

/// A sheet beside the panel: its title block, the way back, the stop, and what it is about.
fn sheet(panel: &Panel, role: Role, title: &str, script: &str, inside: &Markup) -> Markup {
    let snapshot = panel.desk().snapshot();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="theme-color" content="#FBFAF7" media="(prefers-color-scheme: light)";
                meta name="theme-color" content="#14191E" media="(prefers-color-scheme: dark)";
                title { (panel.layout()) " · " (title) }
                link rel="stylesheet" href="/assets/panel.css";
                link rel="stylesheet" href="/assets/trial.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                script type="module" src={ "/assets/" (script) } {}
            }
            body data-role=(role.word()) data-sheet=(panel.sheet()) data-link="opening" {
                header.block {
                    h1 { (panel.layout()) }
                    dl {
                        div { dt { "Sheet" } dd { (title) } }
                        div { dt { "Railroad" } dd { (kind(&snapshot.railroad)) } }
                        div { dt { "This page" } dd #link { "–" } }
                    }
                }
                div.bar {
                    nav aria-label="Sheets" {
                        a href="/" { "Panel" }
                        @for (path, word) in [("/commissioning", "Try"), ("/faults", "Faults")] {
                            a href=(path) aria-current=[(word == "Try" && title == "Commissioning" || word == "Faults" && title == "Fault-finding").then_some("page")] { (word) }
                        }
                    }
                    button.stop #stop type="button" { b { "Stop all" } span { "no safety device" } }
                }
                main.trial {
                    p.caution { "Mains wiring is for a licensed electrician. Switch off before you touch a wire. Software is no safety device: keep a reachable switch for track power." }
                    noscript { p.trouble { "Without scripts this page cannot take answers. Allow them for this address and load the page again." } }
                    (stopped(&snapshot))
                    p.trouble #lost role="alert" hidden {}
                    (refused())
                    (inside)
                }
                div.unseen #heard role="status" aria-live="polite" {}
            }
        }
    }
}
