//! Where goods came from and where they went.
//!
//! The caller has a graph: supply lots go into pours, pours make lots, lots go
//! to market days, shops and people. What its nodes are is the caller's to
//! know; here they are keys, and a link says that something went from one to
//! another, and how much where that was counted.

mod calculation;

use std::collections::{BTreeMap, VecDeque};

pub use calculation::{
    EndOutput, Input, LinkInput, MadeInput, Output, ReachedOutput, SideOutput, TRACE,
    UnplacedOutput, calculate, calculate_with,
};

use crate::units::narrow;

/// Something went from one node to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link<K> {
    /// Where it was.
    pub from: K,
    /// Where it went.
    pub to: K,
    /// How much, in whole smallest units; none where nobody counted, or where
    /// what went in is of another kind than what is traced.
    pub quantity: Option<i64>,
}

/// The links in both directions, sorted once.
#[derive(Debug, Clone)]
pub struct Index<K> {
    /// Every node, sorted.
    nodes: Vec<K>,
    forward: Arms,
    back: Arms,
}

/// The links out of each node, in the order they were given.
#[derive(Debug, Clone, Default)]
struct Arms {
    /// Where the links of a node begin, and one more at the end.
    starts: Vec<usize>,
    /// The node at the other end, and the quantity.
    ends: Vec<(usize, Option<i64>)>,
}

impl Arms {
    fn new(nodes: usize, links: &[(usize, usize, Option<i64>)]) -> Self {
        let mut starts = vec![0; nodes + 1];
        for (from, _, _) in links {
            if let Some(count) = starts.get_mut(from + 1) {
                *count += 1;
            }
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut next = starts.clone();
        let mut ends = vec![(0, None); links.len()];
        for (from, to, quantity) in links {
            let Some(place) = next.get_mut(*from) else {
                continue;
            };
            if let Some(end) = ends.get_mut(*place) {
                *end = (*to, *quantity);
            }
            *place += 1;
        }
        Self { starts, ends }
    }

    fn of(&self, node: usize) -> &[(usize, Option<i64>)] {
        let (Some(start), Some(end)) = (self.starts.get(node), self.starts.get(node + 1)) else {
            return &[];
        };
        self.ends.get(*start..*end).unwrap_or_default()
    }
}

/// What some links carry together.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    links: usize,
    uncounted: usize,
    counted: i128,
}

impl Sum {
    fn add(&mut self, quantity: Option<i64>) {
        self.links += 1;
        match quantity {
            Some(quantity) => self.counted += i128::from(quantity),
            None => self.uncounted += 1,
        }
    }

    fn total(self) -> Option<i64> {
        (self.links > self.uncounted).then(|| narrow(self.counted))
    }
}

/// Which way a trace goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// To where goods went.
    Forward,
    /// To where they came from.
    Back,
}

/// One node of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reached<K> {
    /// The node.
    pub node: K,
    /// Links from the start by the shortest way.
    pub depth: usize,
    /// The node before it on that way; none for the start.
    pub by: Option<K>,
    /// What the links between it and nodes of the trace say came to it (going
    /// back: left it), in whole smallest units; none when none of them says.
    pub quantity: Option<i64>,
    /// How much of `quantity` came from nodes further on: goods returned.
    pub came_back: i64,
    /// What links from nodes outside the trace say came to it; none when none
    /// of them says.
    pub from_outside: Option<i64>,
    /// What its own links say went on from it, in the direction of the trace.
    pub goes_on: Option<i64>,
    /// Links of the trace to it that do not say how much.
    pub uncounted: usize,
    /// Whether the trace stops here: no link leads further from the start.
    pub is_end: bool,
    /// Whether it also has links from nodes outside the trace, so that what
    /// goes on from it may be something else.
    pub is_mixed: bool,
}

impl<K> Reached<K> {
    /// What came to it and did not go on, in whole smallest units.
    pub fn stays(&self) -> i64 {
        let came = self.quantity.unwrap_or(0);
        came.saturating_sub(self.goes_on.unwrap_or(0))
    }
}

/// Everything reached from one node.
#[derive(Debug, Clone)]
pub struct Trace<K> {
    /// Which way it goes.
    pub direction: Direction,
    /// The nodes, the start first, nearest first; those of one depth by
    /// quantity, largest first, then by key.
    pub reached: Vec<Reached<K>>,
    /// Where each node stands in `reached`, by node.
    places: Vec<(K, usize)>,
}

impl<K: Copy + Ord> Index<K> {
    /// Sorts the links. Takes `n log n` for `n` links.
    pub fn new(links: &[Link<K>]) -> Self {
        let mut nodes: Vec<K> = links.iter().flat_map(|link| [link.from, link.to]).collect();
        nodes.sort_unstable();
        nodes.dedup();
        let place = |key: &K| nodes.binary_search(key).unwrap_or_default();
        let forward: Vec<_> = links
            .iter()
            .map(|link| (place(&link.from), place(&link.to), link.quantity))
            .collect();
        let back: Vec<_> = forward
            .iter()
            .map(|(from, to, quantity)| (*to, *from, *quantity))
            .collect();
        let count = nodes.len();
        Self {
            nodes,
            forward: Arms::new(count, &forward),
            back: Arms::new(count, &back),
        }
    }

    /// Every node, sorted.
    pub fn nodes(&self) -> &[K] {
        &self.nodes
    }

    /// Everything that goods of `start` went to. A start without links is
    /// reached alone.
    pub fn forward(&self, start: K) -> Trace<K> {
        self.walk(start, Direction::Forward)
    }

    /// Everything that went into `start`.
    pub fn back(&self, start: K) -> Trace<K> {
        self.walk(start, Direction::Back)
    }

    fn walk(&self, start: K, direction: Direction) -> Trace<K> {
        let (onward, against) = match direction {
            Direction::Forward => (&self.forward, &self.back),
            Direction::Back => (&self.back, &self.forward),
        };
        let Ok(first) = self.nodes.binary_search(&start) else {
            return Trace::new(
                direction,
                vec![Reached {
                    node: start,
                    depth: 0,
                    by: None,
                    quantity: None,
                    came_back: 0,
                    from_outside: None,
                    goes_on: None,
                    uncounted: 0,
                    is_end: true,
                    is_mixed: false,
                }],
            );
        };
        // Nearest first; each node once, so that a ring ends.
        let mut depth: Vec<Option<(usize, Option<usize>)>> = vec![None; self.nodes.len()];
        let mut found = Vec::new();
        let mut queue = VecDeque::from([(first, 0, None)]);
        if let Some(place) = depth.get_mut(first) {
            *place = Some((0, None));
        }
        while let Some((node, far, by)) = queue.pop_front() {
            found.push((node, far, by));
            for (next, _) in onward.of(node) {
                if let Some(place @ None) = depth.get_mut(*next) {
                    *place = Some((far + 1, Some(node)));
                    queue.push_back((*next, far + 1, Some(node)));
                }
            }
        }
        let depth_of = |node: usize| depth.get(node).copied().flatten().map(|(far, _)| far);
        let mut reached: Vec<Reached<K>> = found
            .into_iter()
            .filter_map(|(node, far, by)| {
                let (mut inside, mut outside, mut on) =
                    (Sum::default(), Sum::default(), Sum::default());
                let mut back = Sum::default();
                for (other, counted) in against.of(node) {
                    let Some(other) = depth_of(*other) else {
                        outside.add(*counted);
                        continue;
                    };
                    inside.add(*counted);
                    if other > far {
                        back.add(*counted);
                    }
                }
                let mut is_end = true;
                for (other, counted) in onward.of(node) {
                    on.add(*counted);
                    is_end &= depth_of(*other).is_some_and(|other| other < far);
                }
                Some(Reached {
                    node: *self.nodes.get(node)?,
                    depth: far,
                    by: by.and_then(|by: usize| self.nodes.get(by).copied()),
                    quantity: inside.total(),
                    came_back: back.total().unwrap_or(0),
                    from_outside: outside.total(),
                    goes_on: on.total(),
                    uncounted: inside.uncounted,
                    is_end,
                    is_mixed: outside.links > 0 && far > 0,
                })
            })
            .collect();
        reached.sort_by_key(|each| {
            let quantity = std::cmp::Reverse(each.quantity);
            (each.depth, quantity, each.node)
        });
        Trace::new(direction, reached)
    }
}

/// What of the goods made was found again at the ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balance<K> {
    /// What was made, in whole smallest units.
    pub made: i64,
    /// What came to nodes on the way from outside the trace: it cannot be told
    /// apart there, so that it is followed too.
    pub joined: i64,
    /// What stands at ends.
    pub at_ends: i64,
    /// Nodes on the way where more came than went on, or less: below zero.
    pub unplaced: Vec<(K, i64)>,
    /// Nodes that did not make what came to them from their makers: the node,
    /// what was said to be made, what came.
    pub disagree: Vec<(K, i64, i64)>,
    /// Ends that something came to without being counted.
    pub uncounted: Vec<K>,
    /// Nodes on the way that also hold goods from outside the trace, so that
    /// what goes on from them need not be what was traced.
    pub mixed: Vec<K>,
}

impl<K> Balance<K> {
    /// What was made or joined and is not at an end; below zero when more is
    /// there.
    pub const fn difference(&self) -> i64 {
        let all = self.made.saturating_add(self.joined);
        all.saturating_sub(self.at_ends)
    }

    /// Whether everything made stands at an end and everything was counted.
    pub const fn adds_up(&self) -> bool {
        self.difference() == 0
            && self.unplaced.is_empty()
            && self.disagree.is_empty()
            && self.uncounted.is_empty()
    }
}

impl<K: Copy + Ord> Trace<K> {
    fn new(direction: Direction, reached: Vec<Reached<K>>) -> Self {
        let nodes = reached.iter().map(|each| each.node);
        let mut places: Vec<(K, usize)> = nodes.zip(0..).collect();
        places.sort_unstable();
        Self {
            direction,
            reached,
            places,
        }
    }

    /// What is known of a node; none when it was not reached.
    pub fn find(&self, node: K) -> Option<&Reached<K>> {
        let found = self.places.binary_search_by_key(&node, |(node, _)| *node);
        let (_, place) = self.places.get(found.ok()?)?;
        self.reached.get(*place)
    }

    /// The nodes from the start to `node` by the shortest way; empty when it
    /// was not reached.
    pub fn way(&self, node: K) -> Vec<K> {
        let mut way = Vec::new();
        let mut at = self.find(node);
        while let Some(here) = at {
            way.push(here.node);
            at = here.by.and_then(|by| self.find(by));
        }
        way.reverse();
        way
    }

    /// The nodes where the trace stops, the start itself left out, largest
    /// quantity first.
    pub fn ends(&self) -> Vec<&Reached<K>> {
        let mut ends: Vec<_> = self
            .reached
            .iter()
            .filter(|each| each.is_end && each.depth > 0)
            .collect();
        ends.sort_by_key(|each| {
            let stays = each.quantity.map(|_| each.stays());
            (std::cmp::Reverse(stays), each.node)
        });
        ends
    }

    /// Holds what stands at the ends against what was made. For a trace
    /// forward.
    ///
    /// `made` says what was made at a node. Without it, a node that something
    /// counted leaves and nothing counted comes to is taken to have made what
    /// left it, and a start is taken to have made what came to it.
    pub fn balance(&self, made: &BTreeMap<K, i64>) -> Balance<K> {
        let (mut total, mut joined, mut at_ends) = (0_i128, 0_i128, 0_i128);
        let mut balance = Balance {
            made: 0,
            joined: 0,
            at_ends: 0,
            unplaced: Vec::new(),
            disagree: Vec::new(),
            uncounted: Vec::new(),
            mixed: Vec::new(),
        };
        for each in &self.reached {
            let named = made.get(&each.node).copied();
            // What came to the start was made there as far as this trace goes.
            let made_here = match each.depth {
                0 => named.or(each.from_outside),
                _ => named,
            };
            let from_makers = each
                .quantity
                .map(|came| came.saturating_sub(each.came_back))
                .filter(|came| *came != 0);
            let all_makers = match (from_makers, each.from_outside) {
                (None, None) => None,
                (came, outside) => Some(came.unwrap_or(0).saturating_add(outside.unwrap_or(0))),
            };
            if let (Some(made), Some(came)) = (made_here, all_makers)
                && made != came
            {
                balance.disagree.push((each.node, made, came));
            }
            let there = match (made_here, from_makers) {
                (Some(made), came) => {
                    // What its makers passed to it was counted with them.
                    total += i128::from(made) - i128::from(came.unwrap_or(0));
                    Some(made.saturating_add(each.came_back))
                }
                (None, Some(_)) if each.is_end => each.quantity,
                (None, Some(_)) => {
                    let outside = each.from_outside.unwrap_or(0);
                    joined += i128::from(outside);
                    each.quantity.map(|came| came.saturating_add(outside))
                }
                (None, None) => {
                    let on = each.goes_on.unwrap_or(0);
                    total += i128::from(on) - i128::from(each.came_back);
                    each.goes_on.or(each.quantity)
                }
            };
            let stays = there.map(|there| there.saturating_sub(each.goes_on.unwrap_or(0)));
            if each.is_end {
                at_ends += i128::from(stays.unwrap_or(0));
                if made_here.is_none() && each.depth > 0 && each.uncounted > 0 {
                    balance.uncounted.push(each.node);
                }
                continue;
            }
            if let Some(stays) = stays.filter(|stays| *stays != 0) {
                balance.unplaced.push((each.node, stays));
            }
            if each.is_mixed && made_here.is_none() && each.quantity.is_some() {
                balance.mixed.push(each.node);
            }
        }
        balance.made = narrow(total);
        balance.joined = narrow(joined);
        balance.at_ends = narrow(at_ends);
        balance
    }
}
