//! Colours, computed and not judged by eye: contrast, the three common colour-vision deficiencies, grey print.
#![allow(
    clippy::disallowed_methods,
    reason = "formulas of colour need roots, powers and angles; nothing here is drawn"
)]

use crate::layouts::{DEMO, LOOPED, OPEN, network};
use draw::scene::{Layer, Scene, Shape};
use draw::sheet::Ink;
use draw::{gap_plan, map, matrix, plates, schematic};

type Rgb = [f64; 3];

/// The light of the three channels, 0 to 1.
///
/// # Source
/// IEC 61966-2-1 (sRGB). WCAG writes the threshold as 0.03928, which parts no two of the 256 values otherwise.
fn light(ink: Ink) -> Rgb {
    ink.channels().map(|value| {
        let share = f64::from(value) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    })
}

/// # Source
/// W3C, Web Content Accessibility Guidelines 2.1: relative luminance.
fn luminance([red, green, blue]: Rgb) -> f64 {
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// # Source
/// W3C, Web Content Accessibility Guidelines 2.1: contrast ratio.
fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// # Source
/// IEC 61966-2-1 and CIE 15: sRGB to XYZ under D65, XYZ to L*a*b*.
fn lab([red, green, blue]: Rgb) -> Rgb {
    let x = (0.412_456_4 * red + 0.357_576_1 * green + 0.180_437_5 * blue) / 0.950_47;
    let y = 0.212_672_9 * red + 0.715_152_2 * green + 0.072_175_0 * blue;
    let z = (0.019_333_9 * red + 0.119_192_0 * green + 0.950_304_1 * blue) / 1.088_83;
    let bent = |t: f64| {
        if t > 216.0 / 24_389.0 { t.cbrt() } else { (24_389.0 / 27.0 * t + 16.0) / 116.0 }
    };
    [116.0 * bent(y) - 16.0, 500.0 * (bent(x) - bent(y)), 200.0 * (bent(y) - bent(z))]
}

/// The difference of two colours in L*a*b*.
///
/// # Source
/// CIE 142-2001 (CIEDE2000), in the form of Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula", 2005.
fn difference([l1, a1, b1]: Rgb, [l2, a2, b2]: Rgb) -> f64 {
    let seventh = |chroma: f64| {
        let power = chroma.powi(7);
        (power / (power + 25.0_f64.powi(7))).sqrt()
    };
    let stretch = 1.0 + 0.5 * (1.0 - seventh(f64::midpoint(a1.hypot(b1), a2.hypot(b2))));
    let (a1, a2) = (a1 * stretch, a2 * stretch);
    let (c1, c2) = (a1.hypot(b1), a2.hypot(b2));
    let hue =
        |a: f64, b: f64| if a == 0.0 && b == 0.0 { 0.0 } else { b.atan2(a).to_degrees().rem_euclid(360.0) };
    let (h1, h2) = (hue(a1, b1), hue(a2, b2));
    let grey = c1 == 0.0 || c2 == 0.0;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        turn if turn > 180.0 => turn - 360.0,
        turn if turn < -180.0 => turn + 360.0,
        turn => turn,
    };
    let (l, c) = (f64::midpoint(l1, l2), f64::midpoint(c1, c2));
    let h = match h1 + h2 {
        sum if grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => sum / 2.0,
        sum if sum < 360.0 => f64::midpoint(sum, 360.0),
        sum => f64::midpoint(sum, -360.0),
    };
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0)
        - 0.20 * cos(4.0 * h - 63.0);
    let off = (l - 50.0).powi(2);
    let in_l = (l2 - l1) / (1.0 + 0.015 * off / (20.0 + off).sqrt());
    let in_c = (c2 - c1) / (1.0 + 0.045 * c);
    let in_h = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin() / (1.0 + 0.015 * c * t);
    let theta = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp();
    let mixed = -(2.0 * theta).to_radians().sin() * 2.0 * seventh(c);
    (in_l.powi(2) + in_c.powi(2) + in_h.powi(2) + mixed * in_c * in_h).sqrt()
}

/// Pairs of colours with their difference.
///
/// # Source
/// Sharma, Wu and Dalal 2005, table 1: 26 of its 34 pairs; the other eight differ from one of these in the last digits of
/// one figure. From memory, and the same in the tests of several public libraries.
const PUBLISHED: [(Rgb, Rgb, f64); 26] = [
    ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
    ([50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
    ([50.0, 2.8361, -74.02], [50.0, 0.0, -82.7485], 3.4412),
    ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
    ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
    ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
    ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0011], 7.2195),
    ([50.0, -0.001, 2.49], [50.0, 0.0009, -2.49], 4.8045),
    ([50.0, -0.001, 2.49], [50.0, 0.0011, -2.49], 4.7461),
    ([50.0, 2.5, 0.0], [50.0, 0.0, -2.5], 4.3065),
    ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
    ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
    ([50.0, 2.5, 0.0], [56.0, -27.0, -3.0], 31.9030),
    ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
    ([50.0, 2.5, 0.0], [50.0, 3.1736, 0.5854], 1.0),
    ([50.0, 2.5, 0.0], [50.0, 1.8634, 0.5757], 1.0),
    ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
    ([63.0109, -31.0961, -5.8663], [62.8187, -29.7946, -4.0864], 1.2630),
    ([61.2901, 3.7196, -5.3901], [61.4292, 2.2480, -4.9620], 1.8731),
    ([35.0831, -44.1164, 3.7933], [35.0232, -40.0716, 1.5901], 1.8645),
    ([22.7233, 20.0904, -46.6940], [23.0331, 14.9730, -42.5619], 2.0373),
    ([36.4612, 47.8580, 18.3852], [36.2715, 50.5065, 21.2231], 1.4146),
    ([90.8027, -2.0831, 1.4410], [91.1528, -1.6435, 0.0447], 1.4441),
    ([90.9257, -0.5406, -0.9208], [88.6381, -0.8985, -0.7239], 1.5381),
    ([6.7747, -0.2908, -2.4247], [5.8714, -0.0985, -2.2286], 0.6377),
    ([2.0776, 0.0795, -1.1350], [0.9033, -0.0636, -0.5514], 0.9082),
];

#[test]
fn the_colour_difference_is_the_published_one() {
    for (a, b, expected) in PUBLISHED {
        for found in [difference(a, b), difference(b, a)] {
            assert!((found - expected).abs() < 5.1e-5, "{a:?} {b:?}: {found}, published {expected}");
        }
    }
}

/// What light becomes for an eye without one kind of cone.
///
/// # Source
/// Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency", 2009:
/// protanomaly, deuteranomaly and tritanomaly at severity 1.0; from memory, and the same in several public libraries.
const EYES: [(&str, [Rgb; 3]); 4] = [
    ("all cones", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protanopia",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
];

fn seen(eye: [Rgb; 3], rgb: Rgb) -> Rgb {
    eye.map(|row| row.iter().zip(rgb).map(|(share, light)| share * light).sum::<f64>().clamp(0.0, 1.0))
}

/// Every simulation keeps white and black, or it would not be one of what an eye sees.
#[test]
fn the_simulated_eyes_see_grey_as_grey() {
    for (name, eye) in EYES {
        for grey in [0.0, 0.2, 1.0] {
            assert!(seen(eye, [grey; 3]).iter().all(|light| (light - grey).abs() < 1e-5), "{name}");
        }
    }
}

/// Every scene that is drawn for the demo and the reference networks.
fn scenes() -> Vec<Scene> {
    let texts = OPEN.iter().chain(&LOOPED).map(|(_, text)| *text).chain([DEMO]);
    texts
        .flat_map(|text| {
            let plan = plan::make(network(text)).value;
            let mut scenes = vec![schematic(&plan).scene, map(&plan, 170, 80)];
            scenes.push(gap_plan(&plan).scene);
            scenes.extend(plates(&plan));
            scenes.extend(matrix(&plan, &plan::diode::wire_diodes(&plan)).sheets);
            scenes
        })
        .collect()
}

/// # Source
/// WCAG 2.1, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (parts of graphics 3:1).
#[test]
fn every_ink_that_is_used_stands_out_from_the_paper() {
    let paper = light(Ink::Paper);
    let (mut words, mut lines) = (Vec::new(), Vec::new());
    for scene in scenes() {
        words.extend(scene.words.iter().map(|words| words.ink));
        lines.extend(
            scene.strokes.iter().filter(|stroke| stroke.layer != Layer::Band).map(|stroke| stroke.ink),
        );
        lines.extend(scene.marks.iter().map(|mark| mark.ink));
    }
    for inks in [&mut words, &mut lines] {
        inks.sort_unstable();
        inks.dedup();
    }
    assert!(words.len() >= 2 && lines.len() >= 5, "{words:?} {lines:?}");
    for ink in words {
        assert!(contrast(light(ink), paper) >= 4.5, "{ink:?}: {}", contrast(light(ink), paper));
    }
    // The live panel shows faults too.
    for ink in lines.into_iter().chain([Ink::Fault]) {
        assert!(contrast(light(ink), paper) >= 3.0, "{ink:?}: {}", contrast(light(ink), paper));
    }
}

/// A set route is a pale band under the track and the marks of machines that stand as it needs.
#[test]
fn what_lies_on_the_band_of_a_set_route_stands_out_from_it() {
    for ink in [Ink::Ink, Ink::Normal, Ink::Reverse] {
        assert!(contrast(light(ink), light(Ink::Band)) >= 3.0, "{ink:?}");
    }
}

/// The least CIEDE2000 distance between the signs of positions, and between any two inks that mean something. Far more
/// than the 2 or so at which two patches side by side differ for most people; common practice, no source.
const POSITIONS_LEAST: f64 = 15.0;
const INKS_LEAST: f64 = 7.0;

#[test]
fn inks_stay_apart_for_every_eye() {
    let positions = [Ink::Normal, Ink::Reverse, Ink::Unknown];
    let inks = [Ink::Normal, Ink::Reverse, Ink::Unknown, Ink::Ink, Ink::Fault];
    for (name, eye) in EYES {
        for (index, &a) in inks.iter().enumerate() {
            for &b in &inks[index + 1..] {
                let apart = difference(lab(seen(eye, light(a))), lab(seen(eye, light(b))));
                let both = positions.contains(&a) && positions.contains(&b);
                let least = if both { POSITIONS_LEAST } else { INKS_LEAST };
                assert!(apart >= least, "{name}: {a:?} and {b:?} are {apart} apart");
            }
        }
    }
}

/// In grey print normal and reverse are nearly the same grey, so the shapes have to tell them apart: no two positions
/// share one, and each stands out from the paper by its luminance alone (the contrast above is of luminance).
#[test]
fn positions_differ_in_shape_so_that_grey_print_tells_them_apart() {
    let plan = plan::make(network(DEMO)).value;
    let scene = schematic(&plan).scene;
    for (position, shape) in
        [("normal", Shape::Round), ("reverse", Shape::Diamond), ("unknown", Shape::OpenSquare)]
    {
        let of_position = |mark: &&draw::scene::Mark| mark.tag.position == Some(position);
        let mut marks = scene.marks.iter().filter(of_position).peekable();
        assert!(marks.peek().is_some());
        assert!(marks.all(|mark| mark.shape == shape), "{position}");
    }
}
