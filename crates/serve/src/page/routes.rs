//! The view of routes: those that are set, and the choice of another by where from and where to.

use maud::{Markup, html};

use crate::app::Panel;
use crate::snapshot::{RouteNow, Snapshot, route_look};

/// Routes that someone asked for.
pub(super) fn view(panel: &Panel, snapshot: &Snapshot) -> Markup {
    let railroad = panel.desk().railroad();
    html! {
        section.set-routes data-views="railroad routes" aria-labelledby="set-routes" {
            h2 #set-routes { "Routes that are set" }
            ul.set #set { @for route in &snapshot.routes { (row(route)) } }
            p.quiet #none-set hidden[!snapshot.routes.is_empty()] {
                "None. A set route holds its levers: nobody can throw them until it is released."
                @if railroad.routes().next().is_none() { " This layout has no routes: it needs two stops that tracks join." }
            }
        }
    }
}

fn row(route: &RouteNow) -> Markup {
    html! {
        li data-route=(route.id) data-state=(route_look(route.sight)) {
            div { b { (route.id) } p.says { (route.says) } }
            div.act { button.release type="button" { "Release" } }
        }
    }
}

/// Where from, where to, which way.
pub(super) fn choice(panel: &Panel) -> Markup {
    html! {
        section.choice #choice data-views="routes" aria-labelledby="choose" {
            h2 #choose { "Set a route" }
            div.head {
                p #step role="status" aria-live="polite" { "Where does the train come from? Tap a stop." }
                button.again #again type="button" hidden { "Start again" }
            }
            ul.stops #stops {
                @for stop in panel.stops() {
                    li { button.stop-at type="button" data-stop=(stop.name) data-ends=(stop.ends.join("\n")) aria-pressed="false" { (stop.called()) } }
                }
            }
            ol.ways #ways {}
            p.quiet #two-ways hidden {
                b { "Set and hold" } ": its levers stay as they are until someone releases it. "
                b { "Set once" } ": they are thrown, and then anyone may throw them again."
            }
        }
    }
}
