//! The gap plan: both rails are open at every gap, and only there.

use crate::layouts::{DEMO, LOOPED, OPEN, network};
use draw::gap_plan;
use draw::scene::{Stroke, Xy};
use draw::sheet::{GAP_OPENING, GAUGE};
use network::Piece;
use plan::model::Plan;

fn plan_of(text: &str) -> Plan {
    plan::make(network(text)).value
}

fn all() -> impl Iterator<Item = (&'static str, Plan)> {
    let districts = (
        "districts",
        r#"
[layout]
name = "two districts"
[end.w]
track = "m1"
[end.x]
track = "p1"
[crossover.4]
one = ["m1", "m2"]
other = ["p1", "p2"]
[end.e]
track = "m2"
[end.f]
track = "p2"
[track.m1]
district = "A"
[track.m2]
district = "A"
[track.p1]
district = "B"
[track.p2]
district = "B"
"#,
    );
    let texts = [("demo", DEMO), districts].into_iter().chain(OPEN).chain(LOOPED);
    texts.map(|(name, text)| (name, plan_of(text)))
}

/// The square of the distance of two places.
fn apart(a: Xy, b: Xy) -> i64 {
    (a.x - b.x).pow(2) + (a.y - b.y).pow(2)
}

fn rails(strokes: &[Stroke]) -> impl Iterator<Item = &Stroke> {
    strokes.iter().filter(|stroke| stroke.tag.class == "rail")
}

/// Two rails end on each side of an opening: four ends, each at the distance that gauge and opening give.
#[test]
fn both_rails_are_cut_at_every_gap() {
    let mut gap_count = 0;
    for (name, plan) in all() {
        let drawn = gap_plan(&plan);
        assert_eq!(drawn.gaps.len(), plan.gaps.len());
        for (gap, drawn_gap) in plan.gaps.iter().zip(&drawn.gaps) {
            gap_count += 1;
            let [at] = drawn_gap.at[..] else {
                panic!("{name}: {} is drawn {}", gap.track, drawn_gap.at.len())
            };
            let of_gap = |stroke: &&Stroke| match gap.piece {
                Piece::Track(_) => stroke.tag.track.as_deref() == Some(gap.track.as_str()),
                Piece::Link(joint, _) => stroke.tag.joint.as_ref() == Some(&plan.network.joint(joint).id),
            };
            let ends = rails(&drawn.scene.strokes).filter(of_gap);
            let ends = ends.flat_map(|rail| [rail.path[0], rail.path[rail.path.len() - 1]]);
            let away = (GAUGE / 2).pow(2) + (GAP_OPENING / 2).pow(2);
            let close = ends.filter(|&end| apart(end, at) < away * 11 / 10).count();
            assert_eq!(close, 4, "{name}: gap {} in {}", drawn_gap.number, gap.track);
        }
    }
    assert!(gap_count > 8, "{gap_count} gaps were looked at");
}

#[test]
fn every_gap_is_numbered_once_over_nothing_else() {
    for (name, plan) in all() {
        let drawn = gap_plan(&plan);
        let scene = &drawn.scene;
        let names: Vec<_> = scene.words.iter().filter(|words| words.tag.class == "gap-name").collect();
        let said: Vec<&str> = names.iter().map(|words| words.text.as_str()).collect();
        let wanted: Vec<String> = (1..=plan.gaps.len()).map(|number| format!("gap {number}")).collect();
        assert_eq!(said, wanted, "{name}");
        for words in &names {
            assert!(scene.sheet().holds(words.area), "{name}: {} runs off the sheet", words.text);
            let over = scene.words.iter().filter(|other| other.area.overlaps(words.area)).count();
            assert_eq!(over, 1, "{name}: {} stands over other words", words.text);
        }
    }
}

#[test]
fn a_reversing_section_is_two_rails_from_end_to_end() {
    for (name, plan) in all() {
        let drawn = gap_plan(&plan);
        for section in &plan.reversing {
            for &track in &section.tracks.value {
                let track = Some(plan.network.track(track).name.as_str());
                let plain = drawn.scene.strokes.iter().filter(|stroke| stroke.tag.class == "track");
                assert!(
                    !plain.clone().any(|stroke| stroke.tag.track.as_deref() == track),
                    "{name}: {track:?}"
                );
                assert!(rails(&drawn.scene.strokes).any(|rail| rail.tag.track.as_deref() == track));
            }
        }
    }
}
