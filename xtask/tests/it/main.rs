//! The house is tidy, and the rules that say so can fail.
#![allow(clippy::disallowed_methods, reason = "the test lays out an untidy house on disk")]

/// Electrical networks in the neutral shape.
mod circuit;

#[test]
fn the_house_is_tidy() {
    let untidy = xtask::tidy::check(&xtask::root());
    assert!(untidy.is_empty(), "{}", untidy.join("\n"));
}

#[test]
fn what_is_untidy_is_found() {
    let root = std::env::temp_dir().join(format!("throwbar-tidy-{}", std::process::id()));
    let source = root.join("crates/plan/src");
    std::fs::create_dir_all(&source).unwrap();
    std::fs::write(source.join("utils.rs"), format!("fn f() {{}} // {}{}\n", "TO", "DO")).unwrap();
    std::fs::write(root.join("crates/plan/Cargo.toml"), "[dependencies]\nrules.workspace = true\n").unwrap();
    let untidy = xtask::tidy::check(&root).join("\n");
    std::fs::remove_dir_all(&root).unwrap();
    for expected in [
        "without the standard library",
        "without a `//!`",
        "not `utils`",
        "an open matter",
        "may not use `rules`",
    ] {
        assert!(untidy.contains(expected), "{expected} is not in:\n{untidy}");
    }
}
