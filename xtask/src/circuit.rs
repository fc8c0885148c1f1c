//! One electrical network in the neutral shape of `reference/electrical/`, read, solved and told as JSON.
//!
//! Whatever is in the file, the answer is one JSON object with a status: `ok`, `boundary`, `overload`, or `invalid` with a
//! diagnostic for each thing that is wrong. Nothing is guessed: a value that is missing is a fault, not a nought.

use electric::{Answer, Circuit, Draw, Fault, Load, NodeId, Pair, Run, Supply, System, Wires, ohm_per_m};
use measure::Conductor;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Colder and hotter than any wire that anyone lays.
const CELSIUS: std::ops::RangeInclusive<f64> = -100.0..=300.0;

/// The answer to the text of a file: one network, or a list of them.
pub fn answer(text: &str) -> Value {
    let read: Value = match serde_json::from_str(&without_bare_words(text)) {
        Ok(read) => read,
        Err(error) => {
            return invalid(&[fault(
                "not-json",
                "file",
                &format!("the file is not JSON: {error}"),
                "mend the text",
            )]);
        }
    };
    let list = read.get("networks").and_then(Value::as_array).or_else(|| read.as_array());
    match list {
        Some(networks) => {
            let answers = networks.iter().map(|network| {
                let mut answer = json!({ "id": network.get("id").cloned().unwrap_or(Value::Null) });
                if let (Some(all), Value::Object(solved)) = (answer.as_object_mut(), solved(network)) {
                    all.extend(solved);
                }
                answer
            });
            json!({ "networks": answers.collect::<Vec<_>>() })
        }
        None => solved(&read),
    }
}

/// The text with `NaN` and `Infinity`, which some writers put where a number belongs, as strings: they are faults with a name.
fn without_bare_words(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    let (mut quoted, mut rest) = (false, text);
    while let Some(letter) = rest.chars().next() {
        if quoted && letter == '\\' {
            let taken = rest.chars().take(2).map(char::len_utf8).sum();
            clean.push_str(&rest[..taken]);
            rest = &rest[taken..];
            continue;
        }
        let bare = ["-Infinity", "Infinity", "-NaN", "NaN"]
            .into_iter()
            .find(|word| !quoted && rest.starts_with(word));
        if let Some(word) = bare {
            clean.extend(["\"", word, "\""]);
            rest = &rest[word.len()..];
            continue;
        }
        quoted ^= letter == '"';
        clean.push(letter);
        rest = &rest[letter.len_utf8()..];
    }
    clean
}

fn fault(code: &str, at: &str, message: &str, help: &str) -> Value {
    json!({ "code": code, "at": at, "message": message, "help": help })
}

fn told(faults: &[Fault]) -> Vec<Value> {
    faults.iter().map(|each| fault(each.kind.code(), &each.at, &each.message, &each.help)).collect()
}

fn invalid(diagnostics: &[Value]) -> Value {
    json!({
        "status": "invalid", "node_volts": {}, "run_amps": {}, "supply_amps": {}, "short_amps": {},
        "diagnostics": diagnostics,
    })
}

/// A network read, with the pairs of terminals to short.
struct Reading {
    circuit: Circuit,
    pairs: Vec<Pair>,
    nodes: BTreeMap<String, NodeId>,
    faults: Vec<Value>,
}

fn solved(network: &Value) -> Value {
    let reading = Reading::new(network);
    let mut faults = reading.faults;
    let circuit = reading.circuit;
    let system = match System::new(&circuit, &reading.pairs) {
        Ok(system) if faults.is_empty() => system,
        Ok(_) => return invalid(&faults),
        Err(more) => {
            faults.extend(told(&more));
            return invalid(&faults);
        }
    };
    let steady = match system.steady() {
        Ok(steady) => steady,
        Err(more) => return invalid(&told(&more)),
    };
    let (shorts, notes) = system.shorts(&reading.pairs, true);
    let mut answer = match steady {
        Answer::Steady(state) => with_state("ok", &circuit, &state),
        Answer::Boundary(state) => with_state("boundary", &circuit, &state),
        Answer::Overload(overload) => {
            let (message, help) = system.tell_overload(&overload);
            let at = overload.load.map_or("circuit", |at| circuit.loads[at].id.as_str());
            let nothing = |names: Vec<&String>| -> Value {
                names.into_iter().map(|name| (name.clone(), Value::Null)).collect::<Map<_, _>>().into()
            };
            json!({
                "status": "overload",
                "node_volts": nothing(circuit.nodes.iter().collect()),
                "run_amps": nothing(circuit.runs.iter().map(|run| &run.id).collect()),
                "supply_amps": nothing(circuit.supplies.iter().map(|supply| &supply.id).collect()),
                "share_carried": overload.share,
                "diagnostics": [fault("overload", at, &message, &help)],
            })
        }
    };
    let mut amps = Map::new();
    let mut loops = Map::new();
    for (&(node, _), short) in reading.pairs.iter().zip(&shorts) {
        let name = &circuit.nodes[node.0];
        if amps.contains_key(name) || short.open_volts.is_none() {
            continue;
        }
        amps.insert(name.clone(), json!(short.amps));
        let shares = circuit.supplies.iter().zip(&short.supply_amps);
        let trips = shares
            .clone()
            .filter_map(|(supply, amps)| Some((supply.id.clone(), json!((*amps)? >= supply.trip_amps?))));
        loops.insert(
            name.clone(),
            json!({
                "loop_ohms": short.loop_ohms,
                "open_circuit_volts": short.open_volts,
                "trips": trips.collect::<Map<_, _>>(),
                "supply_amps": shares.map(|(supply, amps)| (supply.id.clone(), json!(amps))).collect::<Map<_, _>>(),
            }),
        );
    }
    answer["short_amps"] = amps.into();
    answer["coin_test"] = loops.into();
    if let Some(diagnostics) = answer["diagnostics"].as_array_mut() {
        diagnostics.extend(told(&notes));
    }
    answer
}

fn with_state(status: &str, circuit: &Circuit, state: &electric::State) -> Value {
    fn named<'a>(
        names: impl Iterator<Item = &'a String>,
        values: impl Iterator<Item = Option<f64>>,
    ) -> Value {
        // A nought below zero is a nought.
        let pairs =
            names.zip(values).map(|(name, value)| (name.clone(), json!(value.map(|value| value + 0.0))));
        pairs.collect::<Map<_, _>>().into()
    }
    let loads = || circuit.loads.iter().map(|load| &load.id);
    json!({
        "status": status,
        "node_volts": named(circuit.nodes.iter(), state.node_volts.iter().copied()),
        "run_amps": named(circuit.runs.iter().map(|run| &run.id), state.run_amps.iter().copied().map(Some)),
        "supply_amps": named(circuit.supplies.iter().map(|supply| &supply.id), state.supply_amps.iter().copied().map(Some)),
        "load_volts": named(loads(), state.load_volts.iter().copied()),
        "load_amps": named(loads(), state.load_amps.iter().copied()),
        "diagnostics": told(&state.notes),
    })
}

impl Reading {
    fn new(network: &Value) -> Self {
        let mut reading = Self {
            circuit: Circuit::default(),
            pairs: Vec::new(),
            nodes: BTreeMap::new(),
            faults: Vec::new(),
        };
        let explicit = match network.get("model").and_then(Value::as_str) {
            Some("pair") => false,
            Some("explicit") => true,
            None if network.get("model").is_none() => network.get("reference").is_some(),
            Some(_) | None => {
                reading.fault(
                    "model-unknown",
                    "model",
                    "the model is neither `pair` nor `explicit`",
                    "write one of the two",
                );
                false
            }
        };
        let celsius = match network.get("temperature_c") {
            None | Some(Value::Null) => 20.0,
            Some(value) => value.as_f64().filter(|celsius| CELSIUS.contains(celsius)).unwrap_or_else(|| {
                let message = format!("the temperature of {value} °C is none that wire is laid at");
                reading.fault(
                    "temperature-absurd",
                    "temperature_c",
                    &message,
                    "write it in °C, from -100 to 300",
                );
                20.0
            }),
        };
        for value in reading.list(network, "supplies") {
            reading.supply(&value, explicit);
        }
        for value in reading.list(network, "runs") {
            reading.run(&value, explicit, celsius);
        }
        for value in reading.list(network, "loads") {
            reading.load(&value, explicit);
        }
        if explicit {
            reading.reference(network);
        }
        reading.ids_twice();
        reading.find_pairs(explicit);
        reading
    }

    fn fault(&mut self, code: &str, at: &str, message: &str, help: &str) {
        self.faults.push(fault(code, at, message, help));
    }

    fn list(&mut self, network: &Value, name: &str) -> Vec<Value> {
        match network.get(name) {
            None | Some(Value::Null) => Vec::new(),
            Some(Value::Array(list)) => list.clone(),
            Some(_) => {
                self.fault(
                    "shape-unknown",
                    name,
                    &format!("`{name}` is not a list"),
                    "write a list of objects",
                );
                Vec::new()
            }
        }
    }

    fn id(&mut self, value: &Value, kind: &str) -> String {
        match value.get("id") {
            Some(Value::String(id)) => id.clone(),
            Some(Value::Number(id)) => id.to_string(),
            _ => {
                self.fault(
                    "id-missing",
                    kind,
                    &format!("a {kind} has no id"),
                    "give each part an id of its own",
                );
                format!("({kind})")
            }
        }
    }

    fn node(&mut self, value: &Value, name: &str, id: &str) -> NodeId {
        let Some(node) = value.get(name).and_then(|node| match node {
            Value::String(node) => Some(node.clone()),
            Value::Number(node) => Some(node.to_string()),
            Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => None,
        }) else {
            self.fault("point-missing", id, &format!("`{id}` does not say its `{name}`"), "name the point");
            return NodeId(0);
        };
        if let Some(&known) = self.nodes.get(&node) {
            return known;
        }
        let new = NodeId(self.circuit.nodes.len());
        self.nodes.insert(node.clone(), new);
        self.circuit.nodes.push(node);
        new
    }

    /// A number that has to be there. One that is no number becomes NaN, which the circuit itself refuses by name.
    fn number(&mut self, value: &Value, name: &str, id: &str) -> f64 {
        match value.get(name) {
            Some(Value::Number(number)) => number.as_f64().unwrap_or(f64::NAN),
            None | Some(Value::Null) => {
                self.fault("value-missing", id, &format!("`{id}` has no `{name}`"), "write the value");
                0.0
            }
            Some(_) => f64::NAN,
        }
    }

    fn back(&mut self, value: &Value, id: &str, explicit: bool) -> Option<NodeId> {
        explicit.then(|| self.node(value, "return", id))
    }

    fn supply(&mut self, value: &Value, explicit: bool) {
        let id = self.id(value, "supply");
        let supply = Supply {
            node: self.node(value, "node", &id),
            back: self.back(value, &id, explicit),
            volts: self.number(value, "volts", &id),
            source_ohms: self.number(value, "source_resistance", &id),
            trip_amps: match value.get("trip_amps") {
                None | Some(Value::Null) => None,
                Some(_) => Some(self.number(value, "trip_amps", &id)),
            },
            id,
        };
        self.circuit.supplies.push(supply);
    }

    fn load(&mut self, value: &Value, explicit: bool) {
        let id = self.id(value, "load");
        let (node, back) = (self.node(value, "node", &id), self.back(value, &id, explicit));
        let amount = self.number(value, "value", &id);
        let draw = match value.get("kind").and_then(Value::as_str) {
            Some("constant_current") => Draw::Amps(amount),
            Some("constant_resistance") => Draw::Ohms(amount),
            Some("constant_power") => Draw::Watts(amount),
            _ => {
                let help = "write constant_current, constant_resistance or constant_power";
                self.fault(
                    "kind-unknown",
                    &id,
                    &format!("`{id}` does not say what kind of load it is"),
                    help,
                );
                Draw::Amps(0.0)
            }
        };
        self.circuit.loads.push(Load { id, node, back, draw });
    }

    fn run(&mut self, value: &Value, explicit: bool, celsius: f64) {
        let id = self.id(value, "run");
        let (from, to) = (self.node(value, "from", &id), self.node(value, "to", &id));
        let wires = match value.get("wires").map(Value::as_u64) {
            None => {
                if explicit {
                    Wires::One
                } else {
                    Wires::OutAndReturn
                }
            }
            Some(Some(1)) => Wires::One,
            Some(Some(2)) => Wires::OutAndReturn,
            Some(_) => {
                self.fault(
                    "wires-unknown",
                    &id,
                    &format!("`{id}` has neither one wire nor two"),
                    "write 1 or 2",
                );
                Wires::One
            }
        };
        let own = match value.get("conductor") {
            Some(Value::Number(ohms)) => ohms.as_f64().unwrap_or(f64::NAN),
            Some(Value::String(text)) if conductor(text).is_some() => {
                let length = self.number(value, "length_m", &id);
                self.check(&id, "length", length);
                let count = if wires == Wires::One { 1.0 } else { 2.0 };
                conductor(text).map_or(0.0, |conductor| count * length * ohm_per_m(conductor, celsius))
            }
            Some(Value::Null) | None => {
                self.fault(
                    "value-missing",
                    &id,
                    &format!("`{id}` has no `conductor`"),
                    "write its size, or its ohms",
                );
                0.0
            }
            Some(other)
                if other.as_str().is_some_and(|text| text.contains("NaN") || text.contains("Infinity")) =>
            {
                f64::NAN
            }
            Some(other) => {
                let help = "write \"AWG 14\", \"1.5 mm2\", or the ohms of the whole run as a number";
                self.fault(
                    "conductor-unknown",
                    &id,
                    &format!("`{id}` has a conductor of unknown size: {other}"),
                    help,
                );
                0.0
            }
        };
        let contact = match value.get("contact_ohms") {
            None | Some(Value::Null) => 0.0,
            Some(_) => self.number(value, "contact_ohms", &id),
        };
        self.check(&id, "joint", contact);
        let open = value.get("open").and_then(Value::as_bool).unwrap_or(false);
        self.circuit.runs.push(Run { id, from, to, ohms: own + contact, open });
    }

    /// Parts of a sum are checked before they hide each other.
    fn check(&mut self, id: &str, what: &str, value: f64) {
        if value < 0.0 {
            let message = format!("the {what} of `{id}` is {value}, below zero");
            self.fault("below-zero", id, &message, "write a value from 0 up");
        }
    }

    fn reference(&mut self, network: &Value) {
        let named = network.get("reference").and_then(Value::as_str);
        let found = named.and_then(|name| self.nodes.get(name).copied());
        if found.is_none() {
            let message = named.map_or("no reference is named".to_owned(), |name| {
                format!("the reference `{name}` is no point of the network")
            });
            self.fault(
                "reference-unknown",
                "reference",
                &message,
                "name the point that voltages are told against",
            );
        }
        self.circuit.reference = found;
    }

    fn ids_twice(&mut self) {
        let circuit = &self.circuit;
        let kinds: [Vec<&String>; 3] = [
            circuit.runs.iter().map(|run| &run.id).collect(),
            circuit.supplies.iter().map(|supply| &supply.id).collect(),
            circuit.loads.iter().map(|load| &load.id).collect(),
        ];
        let mut twice = BTreeSet::new();
        for ids in kinds {
            let mut seen = BTreeSet::new();
            twice.extend(ids.into_iter().filter(|id| !seen.insert(*id)).cloned());
        }
        for id in twice {
            self.fault(
                "id-twice",
                &id,
                &format!("`{id}` names two parts"),
                "give each part an id of its own",
            );
        }
    }

    /// Where a coin is laid: at every point of pairs; across the terminals of each part and each `NAME_out` and `NAME_ret` where
    /// terminals are single.
    fn find_pairs(&mut self, explicit: bool) {
        if !explicit {
            self.pairs = (0..self.circuit.nodes.len()).map(|node| (NodeId(node), None)).collect();
            return;
        }
        let supplies = self.circuit.supplies.iter().map(|supply| (supply.node, supply.back));
        let loads = self.circuit.loads.iter().map(|load| (load.node, load.back));
        let named = self.nodes.iter().filter_map(|(name, node)| {
            let back = self.nodes.get(&format!("{}_ret", name.strip_suffix("_out")?))?;
            Some((*node, Some(*back)))
        });
        self.pairs = supplies.chain(loads).chain(named).collect();
    }
}

/// `AWG 14` or `14 AWG`, `1.5 mm2`.
fn conductor(text: &str) -> Option<Conductor> {
    let text = text.trim();
    let turned = text.strip_prefix("AWG").map(|gauge| format!("{} AWG", gauge.trim()));
    Conductor::read(turned.as_deref().unwrap_or(text)).ok()
}
