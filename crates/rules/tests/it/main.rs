//! The demos check clean.

#[test]
fn the_demos_check_clean() {
    for (name, text) in [
        ("first-module", include_str!("../../../../demo/first-module/layout.toml")),
        ("tern-harbor", include_str!("../../../../demo/tern-harbor/layout.toml")),
    ] {
        let outcome = testkit::planned(text);
        assert!(outcome.diagnostics.is_empty(), "{name}:\n{}", testkit::list(text, &outcome.diagnostics));
        for lever in &outcome.value.levers {
            println!(
                "{} {} {:?} {}",
                lever.number.value,
                outcome.value.network.lever(lever.lever).name,
                lever.control,
                lever.address.value.number()
            );
        }
        println!("{:?} {} routes", outcome.value.chains, outcome.value.routes.len());
    }
}
