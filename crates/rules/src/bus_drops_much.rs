//! A bus that loses more of its voltage than is allowed.

use notice::{Diagnostic, code};
use plan::model::Plan;
use plan::model::power::PlannedBus;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    plan.buses.iter().filter_map(|planned| too_much(plan, planned)).collect()
}

fn too_much(plan: &Plan, planned: &PlannedBus) -> Option<Diagnostic> {
    let bus = &plan.network.buses[planned.bus];
    let limit = planned.drop_limit.value;
    let full = planned.supplies.iter().fold(0.0_f64, |most, supply| most.max(supply.volts));
    let worst = planned.worst.as_ref()?.value;
    let thrown = planned.thrown.as_ref().map(|thrown| &thrown.value);
    let thrown = thrown.and_then(|thrown| Some((thrown.point, 1.0 - thrown.volts? / full)));
    let (point, drop, when) = match thrown.filter(|&(_, drop)| drop > worst.drop + 1e-9) {
        Some((point, drop)) => (point, drop, " while levers are thrown"),
        None => (worst.point, worst.drop, ""),
    };
    if drop <= limit * (1.0 + 1e-9) {
        return None;
    }
    let message = format!(
        "bus `{}` loses {:.1} % of its voltage at `{}`{when}, more than the {:.1} % allowed",
        bus.name,
        drop * 100.0,
        planned.points[point].place,
        limit * 100.0
    );
    let described = &plan.network.described.buses[bus.described];
    let span = described.conductor.map_or(bus.span, |conductor| conductor.span);
    let heavier =
        planned.runs.iter().filter_map(|run| run.would_do.filter(|size| *size != run.conductor.value));
    let mut heavier: Vec<String> = heavier.map(|size| size.to_string()).collect();
    heavier.sort();
    heavier.dedup();
    let feeder = planned.feeder.as_ref().map(|feeder| &planned.points[feeder.value.point].place);
    let help = match (heavier.is_empty(), feeder) {
        (false, _) => format!(
            "lay a heavier conductor; `throwbar show power` says where {} would do",
            heavier.join(" or ")
        ),
        (true, Some(place)) => {
            format!("no size that can be had does: lay a second cable from the supply to `{place}`")
        }
        (true, None) => "feed the bus at a second place".to_owned(),
    };
    Some(Diagnostic::warning(code::BUS_DROPS_MUCH, span, message).help(help))
}
