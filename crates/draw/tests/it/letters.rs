//! Letters and angles.

use draw::fonts::{ALL, Fonts, LICENCE};
use draw::scene::{Family, Weight};
use draw::sheet::{LEVEL_PITCH, MM, SLANT_RUN, STEEP_RUN};

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

#[test]
fn a_letter_that_the_font_lacks_is_shown_by_a_sign_and_one_that_steers_is_left_out() {
    let fonts = Fonts::read();
    let shown = |text: &str| fonts.shown(text, Family::Label, Weight::Regular);
    assert_eq!(shown("Übersee – wharf 3…"), "Übersee – wharf 3…");
    assert_eq!(shown("\u{1F682} dock \u{202E}\u{5E1}\u{5D5}\u{5E3}"), "? dock ???");
    assert!(fonts.has_all(&shown("\u{1F682}"), Family::Label, Weight::Regular));
}
