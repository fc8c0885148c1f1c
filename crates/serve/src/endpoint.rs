//! One module per address, and the table of them all.
//!
//! The table is the only place that knows an address: the router, who may use it, and the document at `/api.json` are all made
//! from it. So none can be served without a role, and none can be missing from the document.

mod api;
mod assets;
mod commissioning;
mod enter;
mod events;
mod faults;
mod health;
mod home;
mod layout;
mod levers;
pub(crate) mod log;
mod metrics;
mod page;
mod practice;
mod routes;
mod throw;
mod whole;

pub(crate) use throw::shortened;

use axum::Router;
use axum::http::Method;
use axum::routing::{MethodRouter, get, post};

use crate::access::Role;
use crate::app::Panel;

/// One address and what is known of it.
pub(crate) struct Endpoint {
    pub(crate) method: Method,
    pub(crate) path: &'static str,
    /// Who may use it; none when it is for those who have yet to enter.
    pub(crate) needs: Option<Role>,
    /// What it does, in one sentence.
    pub(crate) about: &'static str,
    /// The name of the type it takes; none when it takes nothing.
    pub(crate) takes: Option<&'static str>,
    pub(crate) gives: Gives,
    answer: MethodRouter<Panel>,
}

/// What an address answers when it does not refuse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Gives {
    /// JSON of this type.
    Json(&'static str),
    /// The same, for something that was taken and may still be on its way.
    Taken(&'static str),
    /// Something that is not JSON, of this media type.
    Text(&'static str),
    /// Nothing.
    Nothing,
}

impl Endpoint {
    fn seen(path: &'static str, gives: Gives, answer: MethodRouter<Panel>, about: &'static str) -> Self {
        Self { method: Method::GET, path, needs: Some(Role::Look), about, takes: None, gives, answer }
    }

    fn asked(
        path: &'static str,
        takes: &'static str,
        gives: Gives,
        answer: MethodRouter<Panel>,
        about: &'static str,
    ) -> Self {
        let needs = Some(Role::Operate);
        Self { method: Method::POST, path, needs, about, takes: Some(takes), gives, answer }
    }

    fn needing(self, needs: Option<Role>) -> Self {
        Self { needs, ..self }
    }
}

/// Every address of the panel.
pub(crate) fn all() -> Vec<Endpoint> {
    [seen(), asked(), upkeep(), trials(), doors()].into_iter().flatten().collect()
}

/// What can be looked at.
fn seen() -> Vec<Endpoint> {
    use Gives::{Json, Text};
    let seen = Endpoint::seen;
    vec![
        seen("/", Text("text/html"), get(page::answer), "The page."),
        seen(
            "/levers",
            Json("PanelTold"),
            get(levers::answer),
            "Every lever as it is now, and the whole panel.",
        ),
        seen(
            "/routes",
            Json("OfferTold"),
            get(routes::offer),
            "Where trains can go from a stop, and by which ways.",
        ),
        seen("/log", Json("LogTold"), get(log::newest), "What happened last."),
        seen("/log.csv", Text("text/csv"), get(log::all), "Everything that ever happened, as a table.")
            .needing(Some(Role::Maintain)),
        seen("/practice", Json("PracticeTold"), get(practice::seen), "Faults put into the simulated layout.")
            .needing(Some(Role::Maintain)),
        seen("/health", Json("HealthTold"), get(health::answer), "How the panel itself is."),
        seen(
            "/metrics",
            Text("text/plain"),
            get(metrics::answer),
            "Measurements, for a program that collects them.",
        )
        .needing(Some(Role::Maintain)),
        seen("/api.json", Json("Document"), get(api::answer), "This document."),
        seen(
            "/events",
            Text("text/event-stream"),
            get(events::answer),
            "What changes, for as long as one listens.",
        ),
        seen(
            "/panel.webmanifest",
            Text("application/manifest+json"),
            get(home::manifest),
            "For a home screen.",
        ),
    ]
}

/// What can be asked for.
fn asked() -> Vec<Endpoint> {
    use Gives::Taken;
    let asked = Endpoint::asked;
    vec![
        asked(
            "/levers/{number}/throw",
            "Throw",
            Taken("ThrowTold"),
            post(throw::throw),
            "Throws a lever. The points may still be on their way when this is answered.",
        ),
        asked(
            "/levers/{number}/lock",
            "Lock",
            Taken("ThrowTold"),
            post(throw::lock),
            "Locks a lever, with a note.",
        ),
        asked(
            "/levers/{number}/unlock",
            "Unlock",
            Taken("ThrowTold"),
            post(throw::unlock),
            "Unlocks a lever.",
        ),
        asked(
            "/routes/set",
            "RouteToSet",
            Taken("PanelTold"),
            post(routes::set),
            "Sets a route and holds its levers, or sets it once.",
        ),
        asked(
            "/routes/release",
            "RouteAsked",
            Taken("PanelTold"),
            post(routes::release),
            "Releases a route.",
        ),
        asked(
            "/stop",
            "WholeAsked",
            Taken("PanelTold"),
            post(whole::stop),
            "Throws nothing more and asks trains to stop. No safety device.",
        )
        .needing(Some(Role::Look)),
        asked(
            "/resume",
            "WholeAsked",
            Taken("PanelTold"),
            post(whole::resume),
            "Lets everything go on after a stop.",
        ),
        asked(
            "/undo",
            "WholeAsked",
            Taken("PanelTold"),
            post(whole::undo),
            "Throws the last thrown lever back.",
        ),
    ]
}

/// What the layout and its model are changed by.
fn upkeep() -> Vec<Endpoint> {
    use Gives::Taken;
    let asked = Endpoint::asked;
    vec![
        asked(
            "/practice",
            "PracticeAsked",
            Taken("PracticeTold"),
            post(practice::put_in),
            "Puts a fault into a machine of the simulated layout, or mends it.",
        )
        .needing(Some(Role::Maintain)),
        asked(
            "/layout/read",
            "LayoutAsked",
            Taken("LayoutTold"),
            post(layout::read),
            "Reads the layout's file anew and goes on with what it says now. One with errors changes nothing.",
        )
        .needing(Some(Role::Maintain)),
    ]
}

/// What commissioning and fault-finding need.
fn trials() -> Vec<Endpoint> {
    use Gives::{Json, Taken, Text};
    let (seen, asked) = (Endpoint::seen, Endpoint::asked);
    let maintained = |endpoint: Endpoint| endpoint.needing(Some(Role::Maintain));
    vec![
        seen("/commissioning", Text("text/html"), get(commissioning::answer), "Commissioning, step by step."),
        seen("/commissioning/now", Text("text/html"), get(commissioning::now), "The step to try now."),
        seen(
            "/commissioning.json",
            Json("TrialTold"),
            get(commissioning::told),
            "What was found, and the step to try now.",
        ),
        maintained(asked(
            "/commissioning/find",
            "FindAsked",
            Taken("TrialTold"),
            post(commissioning::find),
            "Says what was found at a step, and judges it.",
        )),
        maintained(asked(
            "/commissioning/turn",
            "TurnAsked",
            Taken("TrialTold"),
            post(commissioning::turn),
            "Turns everyone who follows to a step.",
        )),
        seen(
            "/faults",
            Text("text/html"),
            get(faults::answer),
            "Fault-finding, from what was seen to what to test.",
        ),
    ]
}

/// What is there for those who have yet to enter.
fn doors() -> Vec<Endpoint> {
    use Gives::{Json, Nothing, Text};
    let (seen, asked) = (Endpoint::seen, Endpoint::asked);
    let doors = vec![
        seen("/worker.js", Text("text/javascript"), get(home::worker), "Keeps the assets."),
        seen("/assets/{name}", Text("*/*"), get(assets::answer), "Style, scripts, icon and fonts."),
        seen("/enter", Text("text/html"), get(enter::page), "Where a key is shown."),
        asked(
            "/enter",
            "KeyShown",
            Json("EnteredTold"),
            post(enter::enter),
            "Shows a key and begins a session.",
        ),
        asked("/leave", "Leaving", Nothing, post(enter::leave), "Ends the session."),
    ];
    doors.into_iter().map(|door| door.needing(None)).collect()
}

/// All of them as one router.
pub(crate) fn router() -> Router<Panel> {
    all().into_iter().fold(Router::new(), |router, endpoint| router.route(endpoint.path, endpoint.answer))
}
