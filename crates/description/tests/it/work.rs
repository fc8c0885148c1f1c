//! `[work]`: every key is read, what is absent is as usual, and what is no time is refused.

use description::{Work, read};
use measure::{Duration, Share};

#[test]
fn every_key_is_read_and_the_rest_is_usual() {
    let keys = ["machine", "decoder", "strip", "accessory", "wire", "lever", "lead", "relabel", "reprogram"];
    let times = |work: &Work| -> Vec<f64> {
        let Work { machine, decoder, strip, accessory, wire, lever, lead, relabel, reprogram, .. } = *work;
        [machine, decoder, strip, accessory, wire, lever, lead, relabel, reprogram]
            .map(Duration::value)
            .to_vec()
    };
    let usual = Work::default();
    assert_eq!(usual.take_out, Share::new(0.5));
    for (at, key) in keys.iter().enumerate() {
        let outcome = read(&format!(
            "[layout]\nname = \"Pier\"\n[work]\n{key} = \"2 min 30 s\"\ntake_out = \"20 %\"\n"
        ));
        assert!(outcome.diagnostics.is_empty(), "{key}: {:?}", outcome.diagnostics);
        let mut expected = times(&usual);
        expected[at] = 150.0;
        assert_eq!(times(&outcome.value.work), expected, "{key}");
        assert_eq!(outcome.value.work.take_out, Share::new(0.2));
    }
}

#[test]
fn what_is_no_time_is_refused() {
    for (row, code) in [
        ("machine = 45", "unit-missing"),
        ("machine = \"45\"", "unit-missing"),
        ("machine = \"45 m\"", "unit-unknown"),
        ("machine = \"6001 min\"", "quantity-too-large"),
        ("machine = \"-1 min\"", "quantity-negative"),
        ("machne = \"45 min\"", "key-unknown"),
        ("take_out = \"1 min\"", "unit-unknown"),
    ] {
        let outcome = read(&format!("[layout]\nname = \"Pier\"\n[work]\n{row}\n"));
        let codes: Vec<&str> = outcome.diagnostics.iter().map(|note| note.code.name()).collect();
        assert_eq!(codes, [code], "{row}");
        assert_eq!(outcome.value.work, Work::default(), "{row}");
    }
    // As long as can be said.
    assert!(read("[layout]\nname = \"Pier\"\n[work]\nmachine = \"6000 min\"\n").diagnostics.is_empty());
}
