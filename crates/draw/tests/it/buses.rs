//! Plans of buses and drop charts: everything on the sheet, nothing over anything else, and points where their figures say.

use crate::layouts::DEMO;
use draw::scene::{Scene, Shape};
use plan::model::Plan;

fn planned(text: &str) -> Plan {
    let outcome = description::read(text).then(network::resolve).then(plan::make);
    assert!(!outcome.has_errors(), "{:?}", outcome.diagnostics);
    outcome.value
}

fn scenes(text: &str) -> Vec<Scene> {
    let plan = planned(text);
    let charts = plan.buses.iter().filter_map(|bus| draw::drop_chart(&plan, bus));
    plan.buses.iter().map(|bus| draw::bus_plan(&plan, bus)).chain(charts).collect()
}

fn is_clean(scene: &Scene) {
    let sheet = scene.sheet();
    for (index, words) in scene.words.iter().enumerate() {
        assert!(sheet.holds(words.area), "{} leaves {}", words.text, scene.title);
        for other in &scene.words[index + 1..] {
            assert!(!words.area.overlaps(other.area), "{} and {} in {}", words.text, other.text, scene.title);
        }
    }
    for at in
        scene.strokes.iter().flat_map(|stroke| &stroke.path).chain(scene.marks.iter().map(|mark| &mark.at))
    {
        assert!(
            at.x >= 0 && at.y >= 0 && at.x <= scene.width && at.y <= scene.height,
            "{at:?} in {}",
            scene.title
        );
    }
}

/// The demo with its track bus in another shape.
fn shaped(bench: &str, path: &str) -> String {
    let (head, tail) = DEMO.split_once("[bench]").unwrap();
    let (_, tail) = tail.split_once("slack =").unwrap();
    let tail = tail.replacen("path = [\"bay 1\", \"bay 2\", \"bay 3\", \"bay 4\"]", path, 1);
    format!("{head}[bench]\nruns = [{bench}]\nslack ={tail}")
}

#[test]
fn buses_of_every_shape_are_drawn_clean() {
    let run =
        |from: u32, to: u32| format!("{{ from = \"bay {from}\", to = \"bay {to}\", length = \"4 ft\" }}");
    let chain: Vec<String> = (1..15).map(|bay| run(bay, bay + 1)).collect();
    let chain = chain.join(", ");
    let closed = format!("{chain}, {}", run(15, 1));
    let names = |last: u32| (1..=last).map(|bay| format!("\"bay {bay}\"")).collect::<Vec<_>>().join(", ");
    let texts = [
        DEMO.to_owned(),
        shaped(&chain, &format!("path = [{}]", names(15))),
        shaped(&closed, &format!("shape = \"ring\"\npath = [{}]", names(15))),
        shaped(&closed, &format!("shape = \"ring\"\npath = [{}]", names(4))),
        shaped(
            &format!("{chain}, {}", run(2, 20)),
            &format!("path = [{}]\nbranches = [{{ path = [\"bay 2\", \"bay 20\"] }}]", names(4)),
        ),
    ];
    for text in texts {
        let scenes = scenes(&text);
        assert_eq!(scenes.len(), 4);
        scenes.iter().for_each(is_clean);
    }
}

#[test]
fn a_point_of_the_chart_stands_where_its_volts_say() {
    let plan = planned(DEMO);
    let bus = &plan.buses[0];
    let chart = draw::drop_chart(&plan, bus).unwrap();
    let heights: Vec<f64> = chart
        .marks
        .iter()
        .filter(|mark| mark.shape == Shape::Diamond)
        .map(|mark| f64::from(i32::try_from(mark.at.y).unwrap()))
        .collect();
    let volts: Vec<f64> = bus.points.iter().map(|point| point.volts.unwrap()).collect();
    assert_eq!(heights.len(), volts.len());
    // Micrometres for each volt are the same between any two.
    let scale = |a: usize, b: usize| (heights[b] - heights[a]) / (volts[a] - volts[b]);
    assert!((scale(0, 3) / scale(0, 1) - 1.0).abs() < 1e-3 && scale(0, 3) > 0.0);
}
