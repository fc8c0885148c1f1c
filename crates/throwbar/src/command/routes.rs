//! `throwbar show routes` with a wish: between two stops, over some tracks, around others, or only the best.

use crate::failure::Failure;
use ::network::{
    Avoid, JointId, Network, Prefer, ROUTES_MAX, Route, TrackId, Wish, best_route, find_routes,
    routes_between,
};
use ::plan::model::Plan;
use clap::ValueEnum;

/// Which routes to list.
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Narrowed {
    /// Only routes that begin or end at this stop: an end, or a track.
    #[arg(long, value_name = "STOP")]
    pub(crate) from: Option<String>,

    /// Only routes between `--from` and this stop.
    #[arg(long, value_name = "STOP", requires = "from")]
    pub(crate) to: Option<String>,

    /// Only routes over this track; may be given several times.
    #[arg(long, value_name = "TRACK")]
    pub(crate) via: Vec<String>,

    /// Only routes around this track or turnout; may be given several times.
    #[arg(long, value_name = "NAME")]
    pub(crate) avoid: Vec<String>,

    /// Only the best route between the two stops.
    #[arg(long, value_name = "WHICH", requires = "to")]
    pub(crate) best: Option<Best>,

    /// The most routes to look for.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(crate) most: Option<u32>,
}

impl Narrowed {
    /// The first of these options that was given.
    pub(crate) fn first_given(&self) -> Option<&'static str> {
        let given = [
            ("--from", self.from.is_some()),
            ("--to", self.to.is_some()),
            ("--via", !self.via.is_empty()),
            ("--avoid", !self.avoid.is_empty()),
            ("--best", self.best.is_some()),
            ("--most", self.most.is_some()),
        ];
        given.into_iter().find(|option| option.1).map(|option| option.0)
    }
}

/// Which of several routes is the best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Best {
    /// The shortest one.
    Shortest,
    /// The one that reverses the fewest machines.
    FewestReverse,
}

/// The routes as wished.
pub(crate) fn answer(plan: Plan, wish: &Narrowed) -> Result<answers::RoutesAnswer, Failure> {
    let named = Named::find(&plan.network, wish)?;
    let most = wish.most.map_or(ROUTES_MAX, |most| usize::try_from(most).unwrap_or(ROUTES_MAX));
    // Where the plan's own list serves, its preferences stand.
    let plan = match named.between() {
        _ if plan.routes_complete && wish.most.is_none() => plan,
        Some(between) if !plan.routes_complete => {
            let list = routes_between(&plan.network, &between, most);
            ::plan::with_routes(plan, list)
        }
        _ => {
            let list = find_routes(&plan.network, most);
            ::plan::with_routes(plan, list)
        }
    };
    let best = match (wish.best, named.between()) {
        (Some(best), Some(between)) => Some(best_of(&plan.network, best, &between)),
        _ => None,
    };
    let is_meant =
        |route: &Route| named.is_met_by(route) && best.as_ref().is_none_or(|best| best.contains(route));
    let mut answer = answers::routes(&plan);
    let mut meant = plan.routes.iter().map(is_meant);
    answer.routes.retain(|_| meant.next() == Some(true));
    Ok(answer)
}

fn best_of(network: &Network, best: Best, between: &Wish) -> Vec<Route> {
    let prefer = match best {
        Best::Shortest => Prefer::Shortest,
        Best::FewestReverse => Prefer::FewestReverse,
    };
    best_route(network, between, prefer).route.into_iter().collect()
}

/// A wish with its names found.
struct Named {
    from: Option<TrackId>,
    to: Option<TrackId>,
    via: Vec<TrackId>,
    avoid: Avoid,
}

impl Named {
    fn find(network: &Network, wish: &Narrowed) -> Result<Self, Failure> {
        let stop = |name: &String| {
            let track = network.end_or_track(name).filter(|&track| network.track(track).stop);
            track.ok_or_else(|| {
                unknown("stop", name, network.stops().map(|stop| network.track(stop).name.as_str()))
            })
        };
        let tracks = || network.tracks.iter().map(|track| track.name.as_str());
        let via = |name: &String| network.end_or_track(name).ok_or_else(|| unknown("track", name, tracks()));
        let mut avoid = Avoid::default();
        for name in &wish.avoid {
            let joint = network.joints.iter().position(|joint| joint.id == *name).map(JointId::at);
            let track = network.end_or_track(name);
            if joint.is_none() && track.is_none() {
                let joints = network.joints.iter().map(|joint| joint.id.as_str());
                return Err(unknown("track or turnout", name, tracks().chain(joints)));
            }
            avoid.joints.extend(joint);
            avoid.tracks.extend(track);
        }
        Ok(Self {
            from: wish.from.as_ref().map(stop).transpose()?,
            to: wish.to.as_ref().map(stop).transpose()?,
            via: wish.via.iter().map(via).collect::<Result<_, _>>()?,
            avoid,
        })
    }

    fn between(&self) -> Option<Wish> {
        let (from, to) = (self.from?, self.to?);
        Some(Wish { from, to, via: self.via.clone(), avoid: self.avoid.clone() })
    }

    fn is_met_by(&self, route: &Route) -> bool {
        let ends = [route.from(), route.to()];
        let at_ends = [self.from, self.to].iter().flatten().all(|stop| ends.contains(stop));
        // With its own ends for stops, the rest of the wish is asked.
        let rest = Wish { from: ends[0], to: ends[1], via: self.via.clone(), avoid: self.avoid.clone() };
        at_ends && rest.is_met_by(route)
    }
}

fn unknown<'a>(what: &'static str, name: &str, known: impl Iterator<Item = &'a str>) -> Failure {
    let hint =
        notice::nearest(name, known).map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    Failure::NameUnknown { what, name: name.to_owned(), hint }
}
