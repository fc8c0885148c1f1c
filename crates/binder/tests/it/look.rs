//! For looking at.
use crate::fixture::spurs;
use binder::{Options, typeset};

#[test]
fn look() {
    let t = std::time::Instant::now();
    let small = typeset(&spurs("Tern Harbor Terminal", 8, |i| format!("Wharf lead {}", i + 1)), &Options::default()).unwrap();
    eprintln!("{} pages {:?} {:?}", small.pages, small.access, t.elapsed());
    eprintln!("{:?}", small.sheets);
    std::fs::write("/tmp/binder-look/small.pdf", &small.pdf).unwrap();
    let t = std::time::Instant::now();
    let big = typeset(&spurs("Tern Harbor Terminal", 60, |i| format!("Wharf lead {}", i + 1)), &Options::default()).unwrap();
    eprintln!("{} pages {:?} {:?}", big.pages, big.access, t.elapsed());
    std::fs::write("/tmp/binder-look/big.pdf", &big.pdf).unwrap();
}
