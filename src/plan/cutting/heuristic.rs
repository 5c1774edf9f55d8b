//! Good packings of many pieces: best fit decreasing, then stock by stock the set of pieces that
//! leaves the least over (the minimum bin slack rule of Gupta and Ho, 1999), the better of both.

use super::problem::{Packing, Problem};

/// Sets looked at for one stock. Of 12 000 random cases of 100 to 300 pieces 81.4 % met the bound with
/// these, and 81.8 % with 20 000.
const LOOKS: usize = 3000;
/// Rounds of exchanging placed pieces for longer ones, and of moving pieces for a longer rest.
const ROUNDS: usize = 20;

/// Whether a rule finds room for all pieces (sizes, longest first) on stock of these capacities.
pub(super) fn fits(pieces: &[u64], stock: &[u64]) -> bool {
    let full = |cuts: &[Vec<usize>]| cuts.iter().map(Vec::len).sum::<usize>() == pieces.len();
    full(&best_fit(pieces, stock)) || full(&least_slack(pieces, stock))
}

/// A good packing.
pub(super) fn solve(problem: &Problem) -> Packing {
    let mut order: Vec<usize> = (0..problem.pieces.len()).collect();
    order.sort_by_key(|piece| std::cmp::Reverse(problem.pieces[*piece]));
    let mut packing = pack_all(problem, &order).unwrap_or_else(|| most_of_the_shortest(problem, &order));
    lengthen(problem, &mut packing);
    gather(problem, &mut packing);
    packing
}

/// Packs as many pieces as there is stock for: whatever can be packed, as many of the shortest can.
fn most_of_the_shortest(problem: &Problem, longest_first: &[usize]) -> Packing {
    let mut packing = Packing { leftovers: vec![Vec::new(); problem.leftovers.len()], new: Vec::new() };
    let (mut least, mut most) = (0, longest_first.len());
    // By halves: `least` < `many` <= `most`.
    while least < most {
        let many = (least + most).div_ceil(2);
        match pack_all(problem, &longest_first[longest_first.len() - many..]) {
            Some(found) => (packing, least) = (found, many),
            None => most = many - 1,
        }
    }
    packing
}

/// New pieces that all pieces need by these rules, if new pieces are long enough.
pub(super) fn new_for_all(problem: &Problem) -> Option<usize> {
    let endless = Problem { new_count: problem.pieces.len(), ..problem.clone() };
    let packing = solve(&endless);
    endless.unplaced(&packing).is_empty().then_some(packing.new.len())
}

/// A packing of all of these pieces, longest first; `None` where no rule finds one.
fn pack_all(problem: &Problem, pieces: &[usize]) -> Option<Packing> {
    let sizes: Vec<u64> = pieces.iter().map(|piece| problem.pieces[*piece]).collect();
    let mut shortest_first: Vec<usize> = (0..problem.leftovers.len()).collect();
    shortest_first.sort_by_key(|at| problem.leftovers[*at]);
    let mut best: Option<(_, Packing)> = None;
    for leftovers in [shortest_first, Vec::new()] {
        let mut stock: Vec<u64> = leftovers.iter().map(|at| problem.leftovers[*at]).collect();
        stock.extend(std::iter::repeat_n(problem.new, problem.new_count));
        for cuts in [best_fit(&sizes, &stock), least_slack(&sizes, &stock)] {
            if cuts.iter().map(Vec::len).sum::<usize>() < pieces.len() {
                continue;
            }
            let mut cuts = cuts.into_iter().map(|cut| cut.into_iter().map(|piece| pieces[piece]).collect());
            let mut packing =
                Packing { leftovers: vec![Vec::new(); problem.leftovers.len()], new: Vec::new() };
            for (at, cut) in leftovers.iter().zip(cuts.by_ref()) {
                packing.leftovers[*at] = cut;
            }
            packing.new = cuts.filter(|cut: &Vec<usize>| !cut.is_empty()).collect();
            let score = problem.score(&packing);
            if best.as_ref().is_none_or(|(least, _)| score < *least) {
                best = Some((score, packing));
            }
        }
    }
    best.map(|(_, packing)| packing)
}

/// Each piece onto the stock already cut into (or a leftover) that it fills best, else onto the next.
fn best_fit(sizes: &[u64], stock: &[u64]) -> Vec<Vec<usize>> {
    let mut left = stock.to_vec();
    let mut cuts = vec![Vec::new(); stock.len()];
    for (piece, size) in sizes.iter().enumerate() {
        let room = |at: &usize| left[*at] >= *size;
        let begun =
            (0..stock.len()).filter(|at| !cuts[*at].is_empty()).filter(room).min_by_key(|at| left[*at]);
        let at = begun.or_else(|| (0..stock.len()).filter(|at| cuts[*at].is_empty()).find(room));
        if let Some(at) = at {
            left[at] -= size;
            cuts[at].push(piece);
        }
    }
    cuts
}

/// Stock by stock, the longest piece left that fits and with it the set that leaves least over.
fn least_slack(sizes: &[u64], stock: &[u64]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..sizes.len()).collect();
    let mut cuts = Vec::with_capacity(stock.len());
    for capacity in stock {
        let open: Vec<usize> = left.iter().copied().filter(|piece| sizes[*piece] <= *capacity).collect();
        let Some((first, others)) = open.split_first() else {
            cuts.push(Vec::new());
            continue;
        };
        let mut cut = vec![*first];
        cut.extend(fullest(sizes, others, capacity - sizes[*first]));
        left.retain(|piece| !cut.contains(piece));
        cuts.push(cut);
    }
    cuts
}

/// Of `pieces`, longest first, the set that fills `room` best, as far as [`LOOKS`] goes.
fn fullest(sizes: &[u64], pieces: &[usize], room: u64) -> Vec<usize> {
    // Sums of all pieces from each on.
    let mut rest: Vec<u64> = vec![0; pieces.len() + 1];
    for (at, piece) in pieces.iter().enumerate().rev() {
        rest[at] = rest[at + 1] + sizes[*piece];
    }
    let (mut best, mut best_fill) = (Vec::new(), 0);
    let (mut chosen, mut fill, mut next): (Vec<usize>, u64, usize) = (Vec::new(), 0, 0);
    for _ in 0..LOOKS {
        if best_fill == room {
            break;
        }
        // Nothing from here on can do better than the best: take the last piece back.
        if next == pieces.len() || fill + rest[next] <= best_fill {
            let Some(last) = chosen.pop() else { break };
            let size = sizes[pieces[last]];
            fill -= size;
            // Its equals would give the same again.
            next = (last + 1..pieces.len()).find(|at| sizes[pieces[*at]] < size).unwrap_or(pieces.len());
            continue;
        }
        let size = sizes[pieces[next]];
        if fill + size <= room {
            chosen.push(next);
            fill += size;
            if fill > best_fill {
                (best, best_fill) = (chosen.clone(), fill);
            }
            next += 1;
        } else {
            // The first piece short enough for what is left.
            next += pieces[next..].partition_point(|piece| sizes[*piece] > room - fill);
        }
    }
    best.into_iter().map(|at| pieces[at]).collect()
}

/// Exchanges placed pieces for longer ones that have no tube, while there is room.
fn lengthen(problem: &Problem, packing: &mut Packing) {
    for _ in 0..ROUNDS {
        let mut unplaced = problem.unplaced(packing);
        unplaced.sort_by_key(|piece| std::cmp::Reverse(problem.pieces[*piece]));
        let mut changed = false;
        for piece in unplaced {
            let stock = problem.leftovers.iter().zip(packing.leftovers.iter_mut());
            let stock = stock.chain(std::iter::repeat(&problem.new).zip(packing.new.iter_mut()));
            // The exchange that gains most.
            let gain = stock
                .flat_map(|(capacity, cut)| {
                    let room = capacity - problem.size(cut);
                    cut.iter_mut().map(move |placed| (room, placed))
                })
                .filter(|(room, placed)| {
                    let (own, other) = (problem.pieces[piece], problem.pieces[**placed]);
                    own > other && own - other <= *room
                })
                .min_by_key(|(_, placed)| problem.pieces[**placed]);
            if let Some((_, placed)) = gain {
                *placed = piece;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
}

/// Makes the longest rest longer, then spares leftovers: moves pieces while that makes a better plan.
fn gather(problem: &Problem, packing: &mut Packing) {
    for _ in 0..ROUNDS {
        let old = packing.leftovers.len();
        let stock: Vec<usize> = (0..old + packing.new.len()).collect();
        let emptiest = stock
            .iter()
            .copied()
            .filter(|at| *at >= old)
            .min_by_key(|at| problem.size(&packing.new[*at - old]));
        // The emptiest new piece loses one piece after the other, a leftover all or none.
        let one_by_one = emptiest
            .into_iter()
            .flat_map(|from| packing.new[from - old].iter().map(move |p| (from, vec![*p])));
        let at_once =
            stock.iter().copied().filter(|at| *at < old).map(|from| (from, packing.leftovers[from].clone()));
        let moves: Vec<(usize, Vec<usize>)> = one_by_one.chain(at_once).collect();
        let before = problem.score(packing);
        let better = moves
            .into_iter()
            .filter_map(|(from, pieces)| moved(problem, packing, from, &pieces))
            .map(|other| (problem.score(&other), other))
            .filter(|(score, _)| *score < before)
            .min_by_key(|(score, _)| *score);
        let Some((_, other)) = better else { break };
        *packing = other;
    }
}

/// The packing with pieces moved away from one of its stock, each to where it leaves least room; a leftover is begun
/// where there is no other room. `None` where there is none at all.
fn moved(problem: &Problem, packing: &Packing, from: usize, pieces: &[usize]) -> Option<Packing> {
    let mut packing = packing.clone();
    for piece in pieces {
        let size = problem.pieces[*piece];
        let leftovers = problem.leftovers.iter().zip(&packing.leftovers);
        let all = leftovers.chain(std::iter::repeat(&problem.new).zip(&packing.new)).enumerate();
        let room = |capacity: &u64, cut: &Vec<usize>| capacity - problem.size(cut);
        let to = all
            .filter(|(at, (capacity, cut))| *at != from && room(capacity, cut) >= size)
            .min_by_key(|(_, (capacity, cut))| (cut.is_empty(), room(capacity, cut)))
            .map(|(at, _)| at)?;
        for (at, cut) in packing.leftovers.iter_mut().chain(&mut packing.new).enumerate() {
            if at == from {
                cut.retain(|other| other != piece);
            }
            if at == to {
                cut.push(*piece);
            }
        }
    }
    packing.new.retain(|cut| !cut.is_empty());
    Some(packing)
}
