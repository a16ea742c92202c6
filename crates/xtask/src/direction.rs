//! Which crate may depend on which.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use anyhow::{Context as _, ensure};
use serde::Deserialize;

use crate::tree::Tree;

/// The map of the crates and what each group may use.
struct House {
    /// Crates that compute from arguments alone, top to bottom.
    pure: &'static [&'static str],
    /// The one crate the pure ones share.
    shared: &'static str,
    /// Edges from a pure crate to another one than `shared`: from, to, reason.
    exceptions: &'static [(&'static str, &'static str, &'static str)],
    /// The crates below the pure ones, top to bottom.
    lower: &'static [&'static str],
    /// The crates of `lower` that keep to the pure ones' closed door.
    sealed: &'static [&'static str],
    /// Crates of others that never come through that door, by any way.
    closed_to: &'static [&'static str],
    /// Crates of others with their only users outside tests, and the reason.
    kept_to: &'static [(&'static str, &'static [&'static str], &'static str)],
}

const HOUSE: House = House {
    pure: &[
        "measure",
        "formula",
        "fill",
        "netweight",
        "hazard",
        "label",
        "heat",
        "trial",
        "price",
        "ledger",
        "demand",
        "plan",
    ],
    shared: "measure",
    exceptions: &[],
    lower: &[
        "workshop",
        "journal",
        "journal-sqlite",
        "journal-postgres",
        "press",
        "app",
        "web",
        "pourwright",
        "xtask",
    ],
    sealed: &["workshop"],
    closed_to: &["tokio", "axum", "rusqlite"],
    kept_to: &[
        (
            "rusqlite",
            &["journal-sqlite"],
            "no database crate above the stores",
        ),
        (
            "anyhow",
            &["pourwright", "xtask"],
            "a library names its errors",
        ),
    ],
};

/// Asks cargo for the dependencies and holds them against the map.
pub(crate) fn check(tree: &Tree) -> anyhow::Result<Vec<String>> {
    let output = tree
        .cargo()
        .args(["metadata", "--format-version", "1", "--locked"])
        .output()
        .context("could not start cargo")?;
    ensure!(
        output.status.success(),
        "cargo could not read the dependencies (when Cargo.lock is behind, `cargo check` brings it up to date; commit it): {}",
        String::from_utf8_lossy(&output.stderr).trim()
    );
    let metadata = serde_json::from_slice(&output.stdout)
        .context("could not read what cargo says of the dependencies")?;
    Ok(faults(&HOUSE, &metadata))
}

/// What `cargo metadata` says, as far as it matters here.
#[derive(Debug, Deserialize)]
struct Metadata {
    packages: Vec<Package>,
    workspace_members: Vec<String>,
    resolve: Resolve,
}

#[derive(Debug, Deserialize)]
struct Package {
    id: String,
    name: String,
}

#[derive(Debug, Deserialize)]
struct Resolve {
    nodes: Vec<Node>,
}

#[derive(Debug, Deserialize)]
struct Node {
    id: String,
    deps: Vec<Dep>,
}

#[derive(Debug, Deserialize)]
struct Dep {
    pkg: String,
    dep_kinds: Vec<DepKind>,
}

#[derive(Debug, Deserialize)]
struct DepKind {
    /// `dev`, `build`, or nothing for an ordinary dependency.
    kind: Option<String>,
}

impl Dep {
    /// Whether the program, not only its tests, needs this.
    fn ships(&self) -> bool {
        self.dep_kinds
            .iter()
            .any(|kind| kind.kind.as_deref() != Some("dev"))
    }
}

/// The graph by package id.
struct Graph<'a> {
    names: BTreeMap<&'a str, &'a str>,
    deps: BTreeMap<&'a str, &'a [Dep]>,
    /// Ids of our own packages, by name.
    own: BTreeMap<&'a str, &'a str>,
}

impl<'a> Graph<'a> {
    fn new(metadata: &'a Metadata) -> Self {
        let names: BTreeMap<&str, &str> = metadata
            .packages
            .iter()
            .map(|package| (package.id.as_str(), package.name.as_str()))
            .collect();
        let members = metadata.workspace_members.iter().map(String::as_str);
        let own = members
            .filter_map(|id| names.get(id).map(|&name| (name, id)))
            .collect();
        let deps = metadata
            .resolve
            .nodes
            .iter()
            .map(|node| (node.id.as_str(), node.deps.as_slice()))
            .collect();
        Self { names, deps, own }
    }

    fn name(&self, id: &'a str) -> &'a str {
        self.names.get(id).copied().unwrap_or(id)
    }

    fn deps(&self, id: &str) -> &'a [Dep] {
        self.deps.get(id).copied().unwrap_or_default()
    }

    fn is_own(&self, id: &str) -> bool {
        self.own.values().any(|own| *own == id)
    }

    /// Returns the shortest way from a package to one of the names, through
    /// what ships.
    fn way_to(&self, start: &'a str, names: &[&str]) -> Option<Vec<&'a str>> {
        let mut from: BTreeMap<&str, &'a str> = BTreeMap::new();
        let mut seen = BTreeSet::from([start]);
        let mut queue = VecDeque::from([start]);
        while let Some(id) = queue.pop_front() {
            if names.contains(&self.name(id)) {
                let mut way = vec![self.name(id)];
                let mut at = id;
                while let Some(before) = from.get(at) {
                    way.push(self.name(before));
                    at = before;
                }
                way.reverse();
                return Some(way);
            }
            for dep in self.deps(id).iter().filter(|dep| dep.ships()) {
                if seen.insert(&dep.pkg) {
                    from.insert(&dep.pkg, id);
                    queue.push_back(&dep.pkg);
                }
            }
        }
        None
    }

    /// Returns the shortest ring through a package of our own, tests included.
    fn ring(&self, start: &'a str) -> Option<Vec<&'a str>> {
        let mut queue = VecDeque::from([vec![start]]);
        let mut seen = BTreeSet::new();
        while let Some(way) = queue.pop_front() {
            let Some(&last) = way.last() else { continue };
            for dep in self.deps(last).iter().filter(|dep| self.is_own(&dep.pkg)) {
                if dep.pkg == start {
                    return Some(way);
                }
                if seen.insert(dep.pkg.as_str()) {
                    let mut longer = way.clone();
                    longer.push(&dep.pkg);
                    queue.push_back(longer);
                }
            }
        }
        None
    }
}

/// Returns everything in the graph that the house does not allow.
fn faults(house: &House, metadata: &Metadata) -> Vec<String> {
    let graph = Graph::new(metadata);
    let order: Vec<&str> = house.pure.iter().chain(house.lower).copied().collect();
    let place = |name: &str| order.iter().position(|known| *known == name);
    let mut faults = Vec::new();
    for (&name, &id) in &graph.own {
        let Some(here) = place(name) else {
            faults.push(format!(
                "{name} is not on the map of crates; give it its place"
            ));
            continue;
        };
        for dep in graph.deps(id).iter().filter(|dep| dep.ships()) {
            let to = graph.name(&dep.pkg);
            if graph.is_own(&dep.pkg) {
                let Some(there) = place(to) else { continue };
                if there >= here {
                    faults.push(format!("{name} depends on {to}, which is not above it"));
                } else if house.pure.contains(&name)
                    && to != house.shared
                    && !house.exceptions.iter().any(|e| (e.0, e.1) == (name, to))
                {
                    faults.push(format!(
                        "{name} depends on {to}; a pure crate takes {} alone, and values from the others as arguments",
                        house.shared
                    ));
                }
                continue;
            }
            for (kept, users, reason) in house.kept_to {
                if to == *kept && !users.contains(&name) {
                    faults.push(format!(
                        "{name} depends on {to}, which is kept to {}: {reason}",
                        users.join(" and ")
                    ));
                }
            }
        }
        if (house.pure.contains(&name) || house.sealed.contains(&name))
            && let Some(way) = graph.way_to(id, house.closed_to)
        {
            faults.push(format!(
                "{name} must not know {}, but it comes in by {}",
                way.last().copied().unwrap_or_default(),
                way.join(" -> ")
            ));
        }
    }
    faults.extend(rings(&graph));
    for (from, to, _) in house.exceptions {
        let used = graph.own.get(from).is_none_or(|id| {
            let mut deps = graph.deps(id).iter();
            deps.any(|dep| dep.ships() && graph.name(&dep.pkg) == *to)
        });
        if !used {
            faults.push(format!(
                "the exception for {from} to use {to} is not needed any more"
            ));
        }
    }
    faults
}

/// Returns a complaint for each ring of our own crates, tests included, once.
fn rings(graph: &Graph<'_>) -> Vec<String> {
    let mut told: BTreeSet<&str> = BTreeSet::new();
    let mut faults = Vec::new();
    for (&name, &id) in &graph.own {
        if told.contains(name) {
            continue;
        }
        if let Some(ring) = graph.ring(id) {
            let mut names: Vec<&str> = ring.iter().map(|id| graph.name(id)).collect();
            told.extend(&names);
            names.push(name);
            faults.push(format!(
                "{} is a ring, dev-dependencies included",
                names.join(" -> ")
            ));
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Makes a graph from lines such as `app -> workshop, journal (dev)`.
    /// A name that begins with `@` is a crate of others.
    fn metadata(lines: &[&str]) -> Metadata {
        let mut nodes: BTreeMap<&str, Vec<serde_json::Value>> = BTreeMap::new();
        for line in lines {
            let (from, to) = line.split_once(" -> ").unwrap_or((line, ""));
            nodes.entry(from).or_default();
            for dep in to.split(", ").filter(|dep| !dep.is_empty()) {
                let (dep, kind) = match dep.split_once(' ') {
                    Some((dep, kind)) => (dep, Some(kind.trim_matches(['(', ')']))),
                    None => (dep, None),
                };
                nodes.entry(dep).or_default();
                let dep = serde_json::json!({"pkg": dep, "dep_kinds": [{"kind": kind}]});
                nodes.entry(from).or_default().push(dep);
            }
        }
        let packages: Vec<_> = nodes
            .keys()
            .map(|id| serde_json::json!({"id": id, "name": id.trim_start_matches('@')}))
            .collect();
        let own: Vec<_> = nodes.keys().filter(|id| !id.starts_with('@')).collect();
        let nodes_json: Vec<_> = nodes
            .iter()
            .map(|(id, deps)| serde_json::json!({"id": id, "deps": deps}))
            .collect();
        serde_json::from_value(serde_json::json!({
            "packages": packages,
            "workspace_members": own,
            "resolve": {"nodes": nodes_json},
        }))
        .unwrap()
    }

    #[track_caller]
    fn check(lines: &[&str], expected: &[&str]) {
        assert_eq!(faults(&HOUSE, &metadata(lines)), expected);
    }

    #[test]
    fn edges_that_point_up_the_map_hold() {
        check(
            &[
                "formula -> measure, @serde",
                "workshop -> measure, formula",
                "journal -> @sha2",
                "journal-sqlite -> journal, @rusqlite",
                "app -> workshop, journal",
                "web -> app, press, @axum, @tokio",
                "pourwright -> web, app, journal-sqlite, @anyhow",
                "xtask -> @anyhow",
            ],
            &[],
        );
    }

    #[test]
    fn an_edge_that_points_down_the_map_is_a_fault() {
        check(
            &["workshop -> journal"],
            &["workshop depends on journal, which is not above it"],
        );
        check(
            &["press -> web (build)"],
            &["press depends on web, which is not above it"],
        );
        check(
            &["measure -> plan"],
            &["measure depends on plan, which is not above it"],
        );
    }

    #[test]
    fn a_pure_crate_takes_measure_alone() {
        check(
            &["price -> formula, measure"],
            &[
                "price depends on formula; a pure crate takes measure alone, and values from the others as arguments",
            ],
        );
    }

    #[test]
    fn a_stated_exception_holds_as_long_as_it_is_used() {
        let house = House {
            exceptions: &[("price", "formula", "for the sake of this test")],
            ..HOUSE
        };
        assert_eq!(faults(&house, &metadata(&["price -> formula"])), [""; 0]);
        assert_eq!(
            faults(&house, &metadata(&["price -> measure"])),
            ["the exception for price to use formula is not needed any more"]
        );
    }

    #[test]
    fn the_pure_crates_and_the_workshop_never_meet_a_runtime_or_a_database() {
        check(
            &[
                "workshop -> measure",
                "measure -> @dates",
                "@dates -> @clock",
                "@clock -> @tokio",
            ],
            &[
                "measure must not know tokio, but it comes in by measure -> dates -> clock -> tokio",
                "workshop must not know tokio, but it comes in by workshop -> measure -> dates -> clock -> tokio",
            ],
        );
        check(
            &["fill -> @axum (build)"],
            &["fill must not know axum, but it comes in by fill -> axum"],
        );
        check(&["fill -> @criterion (dev)", "@criterion -> @tokio"], &[]);
    }

    #[test]
    fn the_database_is_kept_to_its_store() {
        check(
            &["app -> @rusqlite"],
            &[
                "app depends on rusqlite, which is kept to journal-sqlite: no database crate above the stores",
            ],
        );
        check(&["pourwright -> @rusqlite (dev)"], &[]);
    }

    #[test]
    fn untyped_errors_are_kept_to_the_binary() {
        check(
            &["journal -> @anyhow"],
            &[
                "journal depends on anyhow, which is kept to pourwright and xtask: a library names its errors",
            ],
        );
        check(&["journal -> @anyhow (dev)"], &[]);
    }

    #[test]
    fn tests_may_look_down_the_map_but_not_in_a_ring() {
        check(&["journal -> journal-sqlite (dev)"], &[]);
        check(
            &[
                "journal -> journal-sqlite (dev)",
                "journal-sqlite -> app (dev)",
                "app -> journal",
            ],
            &["app -> journal -> journal-sqlite -> app is a ring, dev-dependencies included"],
        );
        check(
            &["fill -> fill (dev)"],
            &["fill -> fill is a ring, dev-dependencies included"],
        );
    }

    #[test]
    fn a_crate_needs_a_place_on_the_map() {
        check(
            &["helpers -> measure", "app -> helpers"],
            &["helpers is not on the map of crates; give it its place"],
        );
    }
}
