//! Letters and colours.

use draw::fonts::{ALL, Fonts, LICENCE};
use draw::scene::{Family, Weight};
use draw::sheet::{Ink, LEVEL_PITCH, MM, SLANT_RUN, STEEP_RUN};

#[test]
fn the_fonts_are_the_families_the_file_names() {
    for (file, bytes) in ALL {
        let face = ttf_parser::Face::parse(bytes, 0).expect(file);
        let family = face.names().into_iter().find(|name| name.name_id == 16 || name.name_id == 1);
        let family = family.and_then(|name| name.to_string()).expect("a family");
        let wanted =
            if file.contains("Condensed") { draw::fonts::LABEL_FAMILY } else { draw::fonts::TABLE_FAMILY };
        assert!(family.starts_with(wanted), "{file}: {family}");
        let weight = if file.contains("SemiBold") { 600 } else { 400 };
        assert_eq!(face.weight().to_number(), weight, "{file}");
    }
    assert!(LICENCE.contains("SIL OPEN FONT LICENSE Version 1.1"));
}

#[test]
fn a_name_is_shortened_by_whole_letters_until_it_fits() {
    let fonts = Fonts::read();
    let (size, family, weight) = (4 * MM, Family::Label, Weight::Regular);
    assert_eq!(fonts.fit("wharf", 40 * MM, size, family, weight), "wharf");
    for most in [2, 5, 10, 20].map(|mm| mm * MM) {
        let short = fonts.fit("a harbour with a very long name", most, size, family, weight);
        let kept = short.strip_suffix('…').expect("something was left out");
        assert!("a harbour with a very long name".starts_with(kept) && !kept.ends_with(' '));
        assert!(fonts.width(&short, size, family, weight) <= most || kept.chars().count() == 1, "{short}");
    }
    assert_eq!(fonts.fit("  \u{7} ", 40 * MM, size, family, weight), "", "nothing to draw");
}

#[test]
fn digits_are_as_high_as_asked_for() {
    let fonts = Fonts::read();
    let size = fonts.size_for(4 * MM, Family::Label, Weight::SemiBold);
    let face = ttf_parser::Face::parse(ALL[1].1, 0).expect("parses");
    let glyph = face.glyph_index('8').expect("a digit");
    let outline = face.glyph_bounding_box(glyph).expect("an outline");
    let height = i64::from(outline.y_max) * size / i64::from(face.units_per_em());
    assert!(height >= 4 * MM, "{height} µm from the foot to the top of an 8");
}

/// # Source
/// tan 30° = 1/√3 and tan 60° = √3, so the runs over one level are in the ratio 3 to 1 and their product is the level
/// squared.
#[test]
fn the_slants_are_30_and_60_degrees() {
    let [level, slant, steep] = [LEVEL_PITCH, SLANT_RUN, STEEP_RUN]
        .map(|um| f64::from(i32::try_from(um).expect("a few millimetres")));
    assert!((slant / (level * 3.0_f64.sqrt()) - 1.0).abs() < 1e-4);
    assert!((steep * 3.0_f64.sqrt() / level - 1.0).abs() < 1e-4);
}

/// The relative luminance of a colour and the contrast of two.
///
/// # Source
/// W3C, Web Content Accessibility Guidelines 2.1, definitions of relative luminance and contrast ratio; success
/// criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics 3:1).
fn contrast(a: Ink, b: Ink) -> f64 {
    let luminance = |ink: Ink| {
        let channel = |from: usize| {
            let value = u8::from_str_radix(&ink.colour()[from..from + 2], 16).expect("hex digits");
            let share = f64::from(value) / 255.0;
            // The exponent 2.4 by fifth root and square: x^2.4 = (x^12)^(1/5), found by Newton's method.
            if share <= 0.03928 { share / 12.92 } else { power_2_4((share + 0.055) / 1.055) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn power_2_4(x: f64) -> f64 {
    let target = x.powi(12);
    let mut root = 1.0_f64;
    for _ in 0..200 {
        root -= (root.powi(5) - target) / (5.0 * root.powi(4));
    }
    root
}

#[test]
fn words_and_lines_stand_out_from_the_paper() {
    for words in [Ink::Ink, Ink::Quiet] {
        assert!(contrast(words, Ink::Paper) >= 4.5, "{words:?}: {}", contrast(words, Ink::Paper));
    }
    for lines in [Ink::Ink, Ink::Normal, Ink::Reverse, Ink::Unknown, Ink::Fault] {
        assert!(contrast(lines, Ink::Paper) >= 3.0, "{lines:?}: {}", contrast(lines, Ink::Paper));
    }
    assert!((contrast(Ink::Paper, Ink::Paper) - 1.0).abs() < 1e-9);
}
