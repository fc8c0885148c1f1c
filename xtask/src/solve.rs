//! The cores alone, on one case in the neutral shape of `reference/`: one JSON object on standard output.

use plan::facility::{Case, Found, solve};
use serde_json::{Value, json};
use std::path::Path;
use std::time::Instant;

/// The steps after which a placement gives up: some seconds' worth.
const STEPS_MAX: u64 = 400_000;

/// Solves a placement case.
pub(crate) fn placement(file: &str) -> Result<(), String> {
    let read = read(Path::new(file))?;
    let case =
        case_of(&read).ok_or_else(|| format!("{file} is no placement case: facilities, customers, cost"))?;
    let begun = Instant::now();
    let found = solve(&case, STEPS_MAX);
    let seconds = begun.elapsed().as_secs_f64();
    let answer = match found {
        Found::Solution(best) => json!({
            "cost": best.cost,
            "lower_bound": best.lower_bound,
            "proven": best.proven(),
            "open": best.open(),
            "assign": best.assign,
            "seconds": seconds,
        }),
        Found::Impossible | Found::GaveUp => json!({
            "cost": Value::Null,
            "lower_bound": Value::Null,
            "proven": found == Found::Impossible,
            "open": [],
            "assign": [],
            "seconds": seconds,
        }),
    };
    println!("{answer}");
    Ok(())
}

/// What a placement case comes to, whether that is proven, and its published optimum.
pub(crate) fn beside_optimum(path: &Path) -> Result<(f64, bool, f64), String> {
    let read = read(path)?;
    let optimum = read["expected"]["optimum"].as_f64();
    match (case_of(&read).map(|case| solve(&case, STEPS_MAX)), optimum) {
        (Some(Found::Solution(best)), Some(optimum)) => Ok((best.cost, best.proven(), optimum)),
        _ => Err(format!("{}: no case with an optimum, or nothing found", path.display())),
    }
}

/// Solves an electrical network, or a list of them. What is wrong with it is told in the answer.
pub(crate) fn circuit(file: &str) -> Result<(), String> {
    let text = std::fs::read(file).map_err(|error| format!("cannot read {file}: {error}"))?;
    let begun = Instant::now();
    let mut answer = xtask::circuit::answer(&String::from_utf8_lossy(&text));
    answer["seconds"] = json!(begun.elapsed().as_secs_f64());
    println!("{answer}");
    Ok(())
}

fn read(path: &Path) -> Result<Value, String> {
    let text =
        std::fs::read_to_string(path).map_err(|error| format!("cannot read {}: {error}", path.display()))?;
    serde_json::from_str(&text).map_err(|error| format!("{} is not JSON: {error}", path.display()))
}

fn case_of(read: &Value) -> Option<Case> {
    let list = |name: &str| read[name].as_array();
    let facilities = list("facilities")?;
    let customers = list("customers")?;
    let serving = list("cost")?
        .iter()
        .map(|row| row.as_array()?.iter().map(|cost| Some(cost.as_f64().unwrap_or(f64::INFINITY))).collect())
        .collect::<Option<Vec<Vec<f64>>>>()?;
    // Demands and capacities with decimals are counted in their smallest part.
    let sizes =
        |rows: &[Value], name: &str| rows.iter().map(|row| row[name].as_f64()).collect::<Option<Vec<f64>>>();
    let (room, asked) = (sizes(facilities, "capacity")?, sizes(customers, "demand")?);
    let whole = |times: f64| room.iter().chain(&asked).all(|size| (size * times).fract() == 0.0);
    let times = [1.0, 1e1, 1e2, 1e3, 1e6].into_iter().find(|&times| whole(times))?;
    let counted = |sizes: &[f64]| {
        sizes.iter().map(|size| format!("{:.0}", size * times).parse().ok()).collect::<Option<Vec<u64>>>()
    };
    let shaped = serving.len() == facilities.len() && serving.iter().all(|row| row.len() == customers.len());
    shaped.then_some(Case {
        capacities: counted(&room)?,
        opening: facilities.iter().map(|facility| facility["fixed_cost"].as_f64()).collect::<Option<_>>()?,
        demands: counted(&asked)?,
        serving,
    })
}
