//! What wires are called: ids that were given stay, new ones are the lowest that were never given.

use super::Kept;
use super::end::Wanted;
use crate::reason::{ID_KEPT, ID_NEXT};
use notice::{Because, Decided};
use std::collections::BTreeSet;

/// The id of each wire, in order.
pub(super) fn name_wires(wires: &[Wanted], kept: &Kept) -> Vec<Decided<String>> {
    let keys: Vec<&str> = wires.iter().map(|wire| wire.key.as_str()).collect();
    name_all(&keys, kept, |number| format!("W{number}"))
}

/// An id for each key: the one that it had, or the lowest that nothing has or had. `kept` may hold more keys than these: what
/// was taken out keeps its id to itself.
pub(super) fn name_all(keys: &[&str], kept: &Kept, id: impl Fn(u32) -> String) -> Vec<Decided<String>> {
    let mut used: BTreeSet<&str> = kept.values().map(String::as_str).collect();
    let mut given: BTreeSet<&str> = BTreeSet::new();
    let (mut named, mut next) = (Vec::with_capacity(keys.len()), 1);
    for &key in keys {
        // Two things cannot have one id, whatever a record says; the second is named anew.
        let known = kept.get(key).filter(|id| given.insert(id.as_str()));
        if let Some(known) = known {
            used.insert(known);
            named.push(Decided::new(known.clone(), Because::new(&ID_KEPT, [key.into()])));
            continue;
        }
        let mut fresh = id(next);
        while used.contains(fresh.as_str()) {
            next += 1;
            fresh = id(next);
        }
        next += 1;
        named.push(Decided::new(fresh, Because::new(&ID_NEXT, [key.into()])));
    }
    named
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ids(keys: &[&str], kept: &[(&str, &str)]) -> Vec<String> {
        let kept = kept.iter().map(|&(key, id)| (key.to_owned(), id.to_owned())).collect();
        name_all(keys, &kept, |number| format!("W{number}")).into_iter().map(|id| id.value).collect()
    }

    #[test]
    fn a_wire_keeps_its_id_and_a_new_one_gets_one_that_was_never_given() {
        assert_eq!(ids(&["a", "b", "c"], &[]), ["W1", "W2", "W3"]);
        // `gone` was taken out; its id is on a label somewhere.
        assert_eq!(ids(&["new", "b", "a"], &[("a", "W1"), ("b", "W3"), ("gone", "W2")]), ["W4", "W3", "W1"]);
        assert_eq!(ids(&["a", "b"], &[("a", "wharf feed")]), ["wharf feed", "W1"]);
    }

    #[test]
    fn no_two_wires_have_one_id() {
        assert_eq!(ids(&["a", "a"], &[("a", "W1")]), ["W1", "W2"]);
        assert_eq!(ids(&["a", "a"], &[]), ["W1", "W2"]);
        assert_eq!(ids(&["a", "b"], &[("a", "W1"), ("b", "W1")]), ["W1", "W2"]);
    }
}
