//! A packet along time: half bits are as long as they lasted.

use draw::scene::Tag;
use draw::waveform::{Half, packet};

/// Halves of these lengths in microseconds, from 0 on, the first of them low.
fn halves(lengths: &[u64]) -> Vec<Half> {
    let mut began = 0;
    let mut high = true;
    lengths
        .iter()
        .map(|us| {
            high = !high;
            let half = Half { began, length: us * 1_000, high };
            began += half.length;
            half
        })
        .collect()
}

/// By hand: 58 µs are 2.9 mm at 1 mm for 20 µs, 100 µs are 5 mm; a half of 700 µs is cut short at 14 mm and named.
#[test]
fn half_bits_are_as_long_as_they_lasted() {
    let mut lengths = vec![58; 28];
    lengths.extend([100, 700]);
    lengths.extend([58; 16]);
    lengths.extend([100; 18]);
    lengths.extend([100; 18]);
    lengths.extend([58; 2]);
    let scene = packet("FF 00 00", &halves(&lengths), 28 * 58_000, 14, &[0xFF, 0, 0]);
    let waves: Vec<Vec<i64>> = scene
        .strokes
        .iter()
        .filter(|stroke| stroke.tag == Tag::class("wave"))
        .map(|stroke| stroke.path.chunks(2).map(|ends| ends[1].x - ends[0].x).collect())
        .collect();
    assert_eq!(waves.len(), 4);
    assert_eq!(waves[0], [2_900; 28]);
    assert_eq!(waves[1][..3], [5_000, 14_000, 2_900]);
    assert_eq!((waves[1].len(), waves[2].len(), waves[3].len()), (18, 18, 20));
    let words: Vec<&str> = scene.words.iter().map(|words| words.text.as_str()).collect();
    assert!(words.contains(&"700 µs") && words.contains(&"error byte 00"), "{words:?}");
    let bits: String = scene
        .words
        .iter()
        .filter(|words| words.tag == Tag::class("bit"))
        .map(|words| words.text.as_str())
        .collect();
    assert_eq!(bits, ["1".repeat(14), "0".into(), "1".repeat(8), "0".repeat(18), "1".into()].concat());
    let sheet = scene.sheet();
    assert!(scene.words.iter().all(|words| sheet.holds(words.area)));
    assert!(
        scene
            .strokes
            .iter()
            .flat_map(|stroke| &stroke.path)
            .all(|at| at.x < sheet.right && at.y < sheet.bottom)
    );
}

#[test]
fn a_packet_without_halves_is_an_empty_sheet() {
    let scene = packet("nothing", &[], 0, 0, &[]);
    assert!(scene.strokes.is_empty());
    assert_eq!(
        packet("half", &halves(&[58]), 0, 200, &[1, 2, 3])
            .strokes
            .iter()
            .filter(|stroke| stroke.tag == Tag::class("wave"))
            .count(),
        1
    );
}
