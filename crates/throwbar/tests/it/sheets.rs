//! What the program writes: the binder and the sheets beside it.

use crate::{Folder, root, run};

/// Every file of a folder and of the folders in it.
fn bytes_of(folder: &Folder) -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    for name in folder.names() {
        let path = folder.path().join(&name);
        if path.is_dir() {
            let within = std::fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().file_name());
            let mut within: Vec<String> = within.map(|name| name.into_string().unwrap()).collect();
            within.sort();
            files.extend(within.into_iter().map(|file| format!("{name}/{file}")));
        } else {
            files.push(name);
        }
    }
    files.into_iter().map(|name| (name.clone(), std::fs::read(folder.path().join(name)).unwrap())).collect()
}

/// Two runs of the real program write the same bytes, and leave nothing else behind.
#[test]
fn the_binder_is_the_same_bytes_twice() {
    let folders = [Folder::new("binder-one"), Folder::new("binder-two")];
    for folder in &folders {
        let output = folder.path().to_str().unwrap();
        let ran = run(&root(), &["binder", "demo/first-module", "-o", output]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""));
        assert!(ran.out.contains("binder.pdf") && ran.out.contains("Next: open"), "{}", ran.out);
    }
    let [one, two] = folders.each_ref().map(bytes_of);
    let names: Vec<&str> = one.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(
        names,
        [
            "binder.pdf",
            "diagram.svg",
            "diode-matrix.svg",
            "fascia-map.svg",
            "gap-plan.svg",
            "index-map.svg",
            "labels-2.svg",
            "labels-3.svg",
            "labels-4.svg",
            "labels.svg",
            "panel-1.svg",
            "plan.json",
            "tables/addresses.csv",
            "tables/addresses.json",
            "tables/all-tables.xlsx",
            "tables/connectors.csv",
            "tables/connectors.json",
            "tables/decoders.csv",
            "tables/decoders.json",
            "tables/gaps.csv",
            "tables/gaps.json",
            "tables/levers.csv",
            "tables/levers.json",
            "tables/locking.csv",
            "tables/locking.json",
            "tables/parts.csv",
            "tables/parts.json",
            "tables/programming.csv",
            "tables/programming.json",
            "tables/routes.csv",
            "tables/routes.json",
            "tables/terminal-strips.csv",
            "tables/terminal-strips.json",
            "tables/wire-to-buy.csv",
            "tables/wire-to-buy.json",
            "tables/wires.csv",
            "tables/wires.json"
        ]
    );
    for ((name, first), (_, second)) in one.iter().zip(&two) {
        assert!(first == second, "{name} differs between two runs");
    }
}

#[test]
fn a_layout_with_errors_gets_no_binder() {
    let folder = Folder::new("no-binder");
    folder.write("layout.toml", "[layout]\nname = \"Pier\"\n[end.west]\ntrack = \"wharf\"\n");
    let ran = run(folder.path(), &["binder", "-o", "out"]);
    assert_eq!(ran.status, 1);
    assert!(ran.err.contains("track-one-end"), "{}", ran.err);
    assert_eq!(folder.names(), ["layout.toml"]);
}

#[test]
fn a_sheet_that_cannot_be_written_leaves_nothing_behind() {
    let folder = Folder::new("no-room");
    std::fs::create_dir(folder.path().join("diagram.svg")).unwrap();
    let output = folder.path().join("diagram.svg");
    let ran = run(&root(), &["draw", "demo/first-module", "-o", output.to_str().unwrap()]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("cannot write"), "{}", ran.err);
    assert_eq!(folder.names(), ["diagram.svg"]);
}

/// The picture at the top of the README is what the program draws. To draw it anew:
/// `cargo run -- draw demo/tern-harbor -o docs/tern-harbor.svg`.
#[test]
fn the_picture_in_the_readme_is_the_demo() {
    let folder = Folder::new("picture");
    let drawn = folder.path().join("drawn.svg");
    let ran = run(&root(), &["draw", "demo/tern-harbor", "-o", drawn.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let shown = std::fs::read(root().join("docs/tern-harbor.svg")).unwrap();
    assert!(std::fs::read(drawn).unwrap() == shown, "docs/tern-harbor.svg is not what the program draws now");
}
