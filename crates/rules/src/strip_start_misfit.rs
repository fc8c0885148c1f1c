//! A strip whose consecutive addresses do not fit where it starts: past the last address, over taken ones, over another
//! strip, or not where the strip before it on the chain stops.

use notice::{Diagnostic, code};
use plan::model::{Plan, Strip};

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    for (index, strip) in plan.strips.iter().enumerate() {
        notes.extend(past_last(plan, strip));
        notes.extend(over_taken(plan, strip));
        notes.extend(plan.strips[..index].iter().filter_map(|other| over_strip(plan, strip, other)));
    }
    for chain in &plan.chains {
        for pair in chain.strips.windows(2) {
            if let [before, after] = pair {
                notes.extend(gap_in_chain(&plan.strips[*before], &plan.strips[*after]));
            }
        }
    }
    notes
}

fn range(strip: &Strip) -> String {
    format!("{}–{}", strip.first.value.number(), strip.last())
}

fn past_last(plan: &Plan, strip: &Strip) -> Option<Diagnostic> {
    let last = u32::from(plan.network.described.system.last_address);
    (strip.last() > last).then(|| {
        let message =
            format!("strip `{}` would command {}, past the last address {last}", strip.panel, range(strip));
        let start = (last + 1).saturating_sub(u32::from(strip.pair_count));
        let note = Diagnostic::error(code::STRIP_START_MISFIT, strip.span, message);
        let note = if start >= 1 {
            note.help(format!("start it at {start} or lower"))
        } else {
            note.help("raise `last_address` in [system], or use a strip with fewer pairs")
        };
        crate::beside_last_address(plan, crate::beside_start(plan, strip, note))
    })
}

fn over_taken(plan: &Plan, strip: &Strip) -> Option<Diagnostic> {
    let taken = plan.network.described.system.taken.iter().find(|taken| {
        u32::from(taken.value.0) <= strip.last() && strip.first.value.number() <= taken.value.1
    })?;
    let message =
        format!("strip `{}` would command {}, and some of these are taken", strip.panel, range(strip));
    let note = Diagnostic::error(code::STRIP_START_MISFIT, strip.span, message)
        .help("leave `start` out and a free run is found, or take the addresses out of `taken`")
        .related(taken.span, "taken here, by something else");
    Some(crate::beside_start(plan, strip, note))
}

fn over_strip(plan: &Plan, strip: &Strip, other: &Strip) -> Option<Diagnostic> {
    let apart = strip.last() < u32::from(other.first.value.number())
        || other.last() < u32::from(strip.first.value.number());
    (!apart).then(|| {
        let message = format!(
            "strips `{}` ({}) and `{}` ({}) command some of the same addresses",
            other.panel,
            range(other),
            strip.panel,
            range(strip)
        );
        let note = Diagnostic::error(code::STRIP_START_MISFIT, strip.span, message)
            .help("leave `start` out and a free run is found")
            .related(other.span, "the other strip");
        crate::beside_start(plan, other, crate::beside_start(plan, strip, note))
    })
}

fn gap_in_chain(before: &Strip, after: &Strip) -> Option<Diagnostic> {
    let goes_on_at = before.last() + 1;
    let start = u32::from(after.first.value.number());
    // A strip that starts inside the one before is reported as an overlap.
    (start > goes_on_at || start < u32::from(before.first.value.number())).then(|| {
        let message = format!(
            "strip `{}` is pinned to start at {start}, but on its chain it goes on at {goes_on_at}",
            after.panel
        );
        Diagnostic::error(code::STRIP_START_MISFIT, after.span, message)
            .help(format!("leave `start` out, write start = {goes_on_at}, or give it a chain of its own"))
            .related(before.span, format!("strip `{}` stops at {}", before.panel, before.last()))
    })
}
