//! The fewest decoders that have to be bought: over all tilings of the fixed addresses, with what is on the shelf used first.

use super::Class;
use std::collections::BTreeMap;

/// The most half-finished tilings that are kept side by side; a shelf of several kinds may have more, and then the best are kept.
const KEPT_MAX: usize = 5_000;

/// What a half-finished tiling has used of each kind.
type Used = Vec<usize>;

/// The least number of decoders of the kind to buy; none where no tiling covers what is fixed.
pub(super) fn fewest_bought(class: &Class) -> Option<usize> {
    // For each number of fixed addresses covered and the address the last tile ends at: the most spare outputs for what was used.
    let mut open: BTreeMap<(usize, u16), BTreeMap<Used, usize>> = BTreeMap::new();
    open.entry((0, 0)).or_default().insert(vec![0; class.kinds.len()], 0);
    let mut fewest: Option<usize> = None;
    while let Some(((covered, end), mut tilings)) = open.pop_first() {
        if covered == class.fixed.len() {
            for (used, spare) in &tilings {
                let bought = bought_in_all(class, used, *spare);
                fewest = Some(fewest.map_or(bought, |fewest| fewest.min(bought)));
            }
            continue;
        }
        if tilings.len() > KEPT_MAX {
            let mut list: Vec<(Used, usize)> = tilings.into_iter().collect();
            list.sort_by_key(|(used, spare)| bought_in_all(class, used, *spare));
            list.truncate(KEPT_MAX);
            tilings = list.into_iter().collect();
        }
        for tile in class.tiles.iter().filter(|tile| tile.first > end && tile.covers.contains(&covered)) {
            for (used, spare) in &tilings {
                if tile.kind != class.bought && used[tile.kind] == class.kinds[tile.kind].shelf {
                    continue;
                }
                let mut used = used.clone();
                used[tile.kind] += 1;
                let best = open.entry((tile.covers.end, tile.last)).or_default().entry(used).or_default();
                *best = (*best).max(spare + tile.spare);
            }
        }
    }
    fewest
}

/// The number to buy in all, when the tiles have used so many of each kind and leave so many outputs to spare.
fn bought_in_all(class: &Class, used: &[usize], spare: usize) -> usize {
    let on_shelf: usize = class
        .kinds
        .iter()
        .zip(used)
        .map(|(kind, used)| kind.shelf.saturating_sub(*used).saturating_mul(kind.outputs))
        .fold(0, usize::saturating_add);
    let standing: usize = class.standing.iter().map(|standing| standing.spare).sum();
    let waiting = class.free.len().saturating_sub(spare).saturating_sub(standing).saturating_sub(on_shelf);
    let bought = &class.kinds[class.bought];
    used[class.bought].saturating_sub(bought.shelf) + waiting.div_ceil(bought.outputs.max(1))
}
