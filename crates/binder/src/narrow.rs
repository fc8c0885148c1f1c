//! One place alone: of the book's values, what is at it. Numbers of steps, wires and positions stay those of the whole.

use typst::foundations::{Array, Dict, IntoValue, Value};

/// Takes out of the values all that is not at this place.
pub(crate) fn narrow(values: &mut Dict, place: &Value) {
    let here = |value: &Value| member(value, "at") == *place;
    let at_machines = |value: &Value| list(&member(value, "machines")).iter().any(here);
    retain(values, &["levers"], at_machines);
    retain(values, &["decoders"], here);
    retain(values, &["panels"], here);
    retain(values, &["harness", "terminals"], here);
    retain(values, &["harness", "joints"], |joint| {
        list(&member(joint, "places")).iter().any(|name| name == place)
    });
    retain(values, &["power", "readings"], here);
    retain(values, &["commissioning", "visits"], here);
    retain(values, &["faults", "places"], here);
    retain(values, &["change", "places"], here);
    // A wire stands under the place it serves; at its other end it is needed, too.
    within(values, &["harness", "places"], "wires", |wire| {
        member(&member(wire, "from"), "at") == *place || member(&member(wire, "to"), "at") == *place
    });
    within(values, &["chains"], "strips", here);
}

fn member(value: &Value, name: &str) -> Value {
    let Value::Dict(dict) = value else { return Value::None };
    dict.get(name).ok().cloned().unwrap_or(Value::None)
}

fn list(value: &Value) -> Array {
    if let Value::Array(array) = value { array.clone() } else { Array::new() }
}

/// Keeps of the list at this path what `keeps` says.
fn retain(values: &mut Dict, path: &[&str], keeps: impl Fn(&Value) -> bool) {
    change(values, path, |array| array.iter().filter(|value| keeps(value)).cloned().collect());
}

/// Keeps of a list within each entry of the list at this path what `keeps` says, and no entry without any.
fn within(values: &mut Dict, path: &[&str], inner: &str, keeps: impl Fn(&Value) -> bool) {
    change(values, path, |array| {
        let kept = array.iter().filter_map(|value| {
            let Value::Dict(entry) = value else { return None };
            let mut entry = entry.clone();
            retain(&mut entry, &[inner], &keeps);
            (!list(&member(&entry.clone().into_value(), inner)).is_empty()).then(|| entry.into_value())
        });
        kept.collect()
    });
}

fn change(values: &mut Dict, path: &[&str], made: impl Fn(&Array) -> Array) {
    let Some((first, rest)) = path.split_first() else { return };
    let changed = match (values.get(first), rest.is_empty()) {
        (Ok(Value::Array(array)), true) => made(array).into_value(),
        (Ok(Value::Dict(inner)), _) => {
            let mut inner = inner.clone();
            change(&mut inner, rest, made);
            inner.into_value()
        }
        _ => return,
    };
    values.insert((*first).into(), changed);
}
