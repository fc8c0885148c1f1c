//! Everything that a fuzzer found worth keeping, run once more.

#[path = "../../../../fuzz/src/targets.rs"]
mod targets;

use std::path::Path;

/// The name of a target, which is that of its folder, and what it does.
type Target = (&'static str, fn(&[u8]));

#[test]
fn everything_in_the_corpus_is_taken() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz/corpus");
    let all: [Target; 5] = [
        ("bytes", targets::bytes),
        ("signal", targets::signal),
        ("dump", targets::dump),
        ("rows", targets::rows),
        ("frames", targets::frames),
    ];
    for (name, target) in all {
        let mut files: Vec<_> =
            std::fs::read_dir(corpus.join(name)).unwrap().map(|file| file.unwrap().path()).collect();
        files.sort();
        assert!(files.len() >= 3, "{name}");
        for file in files {
            target(&std::fs::read(file).unwrap());
        }
    }
}
