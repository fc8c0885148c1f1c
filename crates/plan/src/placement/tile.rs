//! The blocks of addresses that cover fixed ones.

use super::{Kind, Tile};

/// Every block of these kinds that covers one of the fixed addresses (in order, each once), starts on a board and ends no later than
/// `last`; in the order of the first addresses. Blocks that lie over one that stands are left out, unless nothing else
/// covers an address: outputs that answer what another decoder serves do no harm when nothing is connected to them.
pub fn tiles(
    kinds: &[Kind],
    fixed: &[u16],
    standing: &[(u16, u16)],
    is_spare: &dyn Fn(u16) -> bool,
    last: u16,
) -> Vec<Tile> {
    let mut all: Vec<Tile> = Vec::new();
    for (index, kind) in kinds.iter().enumerate() {
        let (Ok(outputs), Ok(board)) = (u16::try_from(kind.outputs), u16::try_from(kind.aligned.max(1)))
        else {
            continue;
        };
        let mut starts: Vec<u16> = Vec::new();
        for &address in fixed.iter().filter(|_| outputs > 0) {
            let lowest = address.saturating_sub(outputs);
            let own_board = (address - 1) / board * board;
            // Every start of a board from which the block reaches the address.
            let on_boards = (lowest.div_ceil(board)..=own_board / board).map(|count| count * board + 1);
            starts.extend(on_boards.filter(|first| first.saturating_add(outputs - 1) <= last));
        }
        starts.sort_unstable();
        starts.dedup();
        for first in starts {
            let end = first + outputs - 1;
            let covers = fixed.partition_point(|address| *address < first)
                ..fixed.partition_point(|address| *address <= end);
            let spare = (first..=end).filter(|address| is_spare(*address)).count();
            all.push(Tile { kind: index, first, last: end, covers, spare });
        }
    }
    let clear = |tile: &Tile| standing.iter().all(|(first, end)| tile.last < *first || *end < tile.first);
    let mut covered = vec![false; fixed.len()];
    for tile in all.iter().filter(|tile| clear(tile)) {
        covered[tile.covers.clone()].fill(true);
    }
    all.retain(|tile| clear(tile) || covered[tile.covers.clone()].contains(&false));
    all.sort_by_key(|tile| (tile.first, tile.last, tile.kind));
    all
}
