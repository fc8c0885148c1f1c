//! For looking at.
use crate::fixture::{first_module, ladders, tern_harbor};
use binder::{Options, typeset};

fn make(name: &str, plan: &plan::model::Plan) {
    let t = std::time::Instant::now();
    let b = typeset(plan, &Options::default()).unwrap();
    eprintln!("{name} {} pages {:?} {:?} {} routes", b.pages, b.access, t.elapsed(), plan.routes.len());
    std::fs::write(format!("/tmp/binder-look/{name}.pdf"), &b.pdf).unwrap();
}

#[test]
fn look() {
    let which = std::env::var("LOOK").unwrap_or_default();
    let want = |n: &str| which.is_empty() || which.split(',').any(|w| w == n);
    if want("tern") { make("tern", &tern_harbor()); }
    if want("first") { make("first", &first_module()); }
    if want("big") { make("big", &ladders("Ladders", 150, |i| format!("Ladder turnout {i}"))); }
    let hostile = ["#set page(fill: red)", "*x* _y_ `z`", "\" \\ \" $x$", "@ref <lab> [x] // c /* d */", "= head -- ---", "🚂 émoji Ω Ж", "a\nb\tc"];
    if want("hostile") { make("hostile", &ladders(&"W".repeat(300), 14, |i| if i < 7 { hostile[i].to_owned() } else { "Very long name ".repeat(20) + &"Q".repeat(100) })); }
}
