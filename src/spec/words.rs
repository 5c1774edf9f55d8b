//! The key or word that was probably meant by one that is not known.

use super::keys::{Kind, Rule, Table};
use crate::spelling;

/// Words people use for what a key holds, beside the key.
const KEYS: [(&str, &str); 58] = [
    ("back", "y"),
    ("bend", "angle"),
    ("bend_radius", "clr"),
    ("centerline_radius", "clr"),
    ("centreline_radius", "clr"),
    ("clocking", "rotation"),
    ("collar", "fitting"),
    ("coordinates", "at"),
    ("degrees", "angle"),
    ("depth", "insert"),
    ("dia", "od"),
    ("diameter", "od"),
    ("diameter", "tube_od"),
    ("direction", "facing"),
    ("distance", "length"),
    ("down", "z"),
    ("end", "end_length"),
    ("end", "to"),
    ("feed", "length"),
    ("finish", "end_length"),
    ("finish", "to"),
    ("forward", "y"),
    ("hardness", "temper"),
    ("inner_radius", "clr"),
    ("insertion", "insert"),
    ("left", "x"),
    ("len", "length"),
    ("location", "at"),
    ("metal", "material"),
    ("name", "title"),
    ("nodes", "corners"),
    ("normal", "facing"),
    ("obstacles", "components"),
    ("od", "tube_od"),
    ("od", "diameter"),
    ("outer_diameter", "od"),
    ("outer_radius", "diameter"),
    ("outside_diameter", "od"),
    ("pipe", "tube"),
    ("pipes", "runs"),
    ("plane", "rotation"),
    ("points", "corners"),
    ("position", "at"),
    ("radius", "clr"),
    ("radius", "diameter"),
    ("right", "x"),
    ("roll", "rotation"),
    ("rot", "rotation"),
    ("start", "from"),
    ("straight", "length"),
    ("tail", "end_length"),
    ("thickness", "wall"),
    ("turn", "rotation"),
    ("twist", "rotation"),
    ("up", "z"),
    ("version", "format"),
    ("wall_thickness", "wall"),
    ("waypoints", "corners"),
];

/// Words for what a key of one table holds: the table, the word, the key and what to write.
const OF_TABLES: [(&str, &str, &str, &str); 21] = [
    ("box", "size", "to", "write `to:`, the opposite corner"),
    ("box", "dimensions", "to", "write `to:`, the opposite corner"),
    ("cylinder", "height", "to", "write `to:`, the centre of the other end"),
    ("cylinder", "length", "to", "write `to:`, the centre of the other end"),
    ("cylinder", "axis", "to", "write `to:`, the centre of the other end"),
    ("cylinder", "dia", "diameter", "write `diameter:`"),
    ("cylinder", "d", "diameter", "write `diameter:`"),
    ("rotation", "by", "degrees", "write `degrees:`"),
    ("rotation", "angle", "degrees", "write `degrees:`"),
    ("component", "stl", "mesh", "write `mesh:`"),
    ("component", "rotation", "rotate", "write `rotate:`"),
    ("measured bend", "got", "angle", "write `angle:`"),
    ("measured bend", "length", "leg", "write `leg:`, to where the legs cross"),
    ("measured bend", "rotation", "turn", "write `turn:`"),
    ("measured bend", "twist", "turn", "write `turn:`"),
    ("measured bend", "pull", "pulled", "write `pulled:`"),
    ("measured bend", "back", "between", "write `between:`, from back to back where `measured` is outside"),
    ("measured template", "right", "left", "write `left:` with a minus sign in front of the number"),
    ("measured template", "height", "above", "write `above:`"),
    ("place on a template", "right", "left", "write `left:` with a minus sign in front of the number"),
    ("place on a template", "height", "above", "write `above:`"),
];

/// Words people use for a choice, beside its own name.
const CHOICES: [(&str, &str); 25] = [
    ("\"", "in"),
    ("annealed", "soft"),
    ("back", "outside"),
    ("center", "centre"),
    ("centerline", "centre"),
    ("centreline", "centre"),
    ("centimeter", "cm"),
    ("centimeters", "cm"),
    ("centimetre", "cm"),
    ("centimetres", "cm"),
    ("coiled", "coil"),
    ("drawn", "hard"),
    ("half", "half-hard"),
    ("inch", "in"),
    ("inches", "in"),
    ("inner", "inside"),
    ("medium", "half-hard"),
    ("millimeter", "mm"),
    ("millimeters", "mm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("outer", "outside"),
    ("r220", "soft"),
    ("r250", "half-hard"),
    ("r290", "hard"),
];

/// What to write for an unknown key of a table in a file whose keys are those of `root`, and the key of it that was
/// probably meant. Where a word is used for several keys, `fits` tells which of them goes with what stands behind and
/// beside the word.
pub(super) fn key(
    word: &str,
    table: &'static Table,
    root: &'static Table,
    fits: &dyn Fn(&str) -> bool,
) -> (String, Option<&'static str>) {
    let typed = word.trim().to_lowercase().replace(['-', ' '], "_");
    let of_table =
        OF_TABLES.iter().find(|(name, other, key, _)| *name == table.name && *other == typed && fits(key));
    if let Some((_, _, key, hint)) = of_table {
        return ((*hint).to_owned(), Some(key));
    }
    let others: Vec<_> =
        KEYS.iter().filter(|(other, _)| *other == typed).filter_map(|(_, key)| table.rule(key)).collect();
    let other = others.iter().find(|rule| fits(rule.key)).or(others.last());
    if let Some(rule) = other {
        return (format!("did you mean `{}` ({})?", rule.key, sentence(rule.doc)), Some(rule.key));
    }
    let keys = || table.keys.iter().map(|rule| rule.key);
    if let Some(meant) = spelling::nearest(word, keys()) {
        return (format!("did you mean `{meant}`?"), Some(meant));
    }
    let mut homes = Vec::new();
    find_homes(&typed, root, None, &mut homes);
    let Some((first, others)) = homes.split_first() else {
        return (spelling::advice(word, "keys", keys()), None);
    };
    // At the top, the key whose mapping was not begun: it is not missing, too.
    let is_top = table.name == root.name;
    let is_first = |kind: &Kind| matches!(kind, Kind::Table(inner) if inner.name == first.0);
    let opens = |rule: &&Rule| match &rule.kind {
        Kind::AnyOf(kinds) => kinds.iter().any(is_first),
        kind => is_first(kind),
    };
    let begun = root.keys.iter().filter(|_| is_top).find(opens).map(|rule| rule.key);
    let begun = begun.filter(|key| fits(key));
    let others: Vec<String> = others.iter().map(|(name, _)| article(name)).collect();
    let too = match others.len() {
        0 => String::new(),
        1 => format!("; {} has such a key, too", others[0]),
        _ => format!("; {} have such a key, too", listed(&others, "and")),
    };
    (format!("it belongs in {}: write it {}{too}", article(first.0), first.1), begun)
}

/// A table that has a key: its name, and where in a spec it stands.
type Home = (&'static str, String);

/// The tables from `table` downwards that have this key, each once.
fn find_homes(key: &str, table: &'static Table, place: Option<String>, homes: &mut Vec<Home>) {
    if homes.iter().any(|(name, _)| *name == table.name) {
        return;
    }
    if table.rule(key).is_some() {
        let top = || "in the first column, beside `format:`".to_owned();
        homes.push((table.name, place.unwrap_or_else(top)));
    }
    for rule in table.keys {
        find_below(key, rule.key, &rule.kind, homes);
    }
}

fn find_below(key: &str, from: &str, kind: &'static Kind, homes: &mut Vec<Home>) {
    match kind {
        Kind::Table(table) => find_homes(key, table, Some(format!("below `{from}:`")), homes),
        Kind::Named(table) => {
            find_homes(key, table, Some(format!("below a name in `{from}:`")), homes);
        }
        Kind::Numbered(table) => {
            find_homes(key, table, Some(format!("below a number in `{from}:`")), homes);
        }
        Kind::List(kind) => find_below(key, from, kind, homes),
        Kind::AnyOf(kinds) => kinds.iter().for_each(|kind| find_below(key, from, kind, homes)),
        _ => {}
    }
}

/// "a, b or c".
fn listed(words: &[String], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

/// The choice that is probably meant by a word that is none of them.
pub(super) fn meant_choice(word: &str, choices: &[&'static str]) -> Option<&'static str> {
    let typed = word.trim().to_lowercase();
    let other = CHOICES.iter().filter(|(other, _)| *other == typed).map(|(_, choice)| *choice);
    other
        .filter(|choice| choices.contains(choice))
        .chain(spelling::nearest(word, choices.iter().copied()))
        .next()
}

/// What to write for a word that is none of the choices.
pub(super) fn choice_hint(meant: Option<&str>, choices: &[&'static str]) -> String {
    match meant {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("write {}", quoted(choices, "or")),
    }
}

/// What is wrong with a port that is not known, and what to write for it.
pub(super) fn port<'p>(name: &str, ports: impl Iterator<Item = &'p str> + Clone) -> (String, String) {
    let unknown = || format!("there is no port `{name}`");
    if ports.clone().next().is_none() {
        return (unknown(), "write a point [x, y, z], or {at: [...], facing: [...]}".to_owned());
    }
    let parts = |full: &'p str| full.rsplit_once('.').unwrap_or((full, ""));
    let of_component =
        |full: &&'p str| parts(full).0 == name || name.starts_with(&format!("{}.", parts(full).0));
    let own: Vec<&str> = ports.clone().filter(of_component).collect();
    if let Some(first) = own.first() {
        let what = format!("ports of `{}`", parts(first).0);
        let hint = match own.as_slice() {
            [only] if parts(only).0 == name => format!("write `{only}`, its only port"),
            _ => spelling::advice(name, &what, own.iter().copied()),
        };
        let is_component = own.iter().any(|full| parts(full).0 == name);
        let message =
            if is_component { format!("`{name}` is a component; name one of its ports") } else { unknown() };
        return (message, hint);
    }
    let named: Vec<String> =
        ports.clone().filter(|full| parts(full).1 == name).map(|full| format!("`{full}`")).collect();
    if named.is_empty() {
        return (unknown(), spelling::advice(name, "ports", ports));
    }
    let hint = format!("name the component, too: write {}", listed(&named, "or"));
    (format!("`{name}` is a port's name without its component"), hint)
}

/// "a run", "an end".
pub(super) fn article(name: &str) -> String {
    let an = name.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {name}", if an { "an" } else { "a" })
}

/// A doc as part of a sentence: first letter small, no full stop.
pub(super) fn sentence(doc: &str) -> String {
    let mut letters = doc.trim_end_matches('.').chars();
    letters.next().map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

/// "`a`, `b` or `c`".
pub(super) fn quoted(words: &[&str], last: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::keys::{self, SPEC};

    #[test]
    fn a_key_is_known_by_other_words_and_in_other_places() {
        let key = |word: &str, table| key(word, table, &SPEC, &|_| true);
        let hint = |word: &str, table| key(word, table).0;
        assert_eq!(hint("radius", &keys::BENDER), "did you mean `clr` (centreline radius it forms)?");
        assert_eq!(hint("Bend radius", &keys::BENDER), "did you mean `clr` (centreline radius it forms)?");
        assert_eq!(hint("radius", &keys::CYLINDER), "did you mean `diameter` (diameter of the bar)?");
        assert_eq!(hint("diameter", &keys::TUBE), "did you mean `od` (outside diameter)?");
        assert_eq!(hint("tubes", &SPEC), "did you mean `tube`?");
        assert_eq!(
            hint("od", &SPEC),
            "it belongs in a tube: write it below `tube:`; a bender and a stock have such a key, too"
        );
        assert_eq!(hint("corners", &SPEC), "it belongs in a run: write it below a name in `runs:`");
        assert_eq!(
            hint("units", &keys::TUBE),
            "it belongs in a spec: write it in the first column, beside `format:`; a component and a part have such a key, too"
        );
        assert_eq!(hint("colour", &keys::SEAL), "keys here are section, squeeze");
        assert_eq!(key("points", &keys::RUN).1, Some("corners"));
        assert_eq!(key("bend", &keys::RUN).1, Some("bends"));
        for (word, meant) in [("len", "length"), ("rot", "rotation"), ("bend", "angle")] {
            assert_eq!(key(word, &keys::BEND_ROW).1, Some(meant));
        }
    }

    #[test]
    fn every_other_word_leads_to_a_key_or_choice() {
        let tables = [
            &SPEC,
            &keys::TUBE,
            &keys::BENDER,
            &keys::FITTING,
            &keys::PORT,
            &keys::RUN,
            &keys::BEND_ROW,
            &keys::CYLINDER,
            &keys::CORNER_TABLE,
        ];
        for (word, meant) in KEYS {
            assert!(tables.iter().any(|table| table.rule(meant).is_some()), "{word}: {meant}");
        }
        let units = ["mm", "cm", "in"];
        let tempers = ["soft", "half-hard", "hard"];
        for (word, meant) in CHOICES {
            let all = units.iter().chain(&tempers).chain(&["coil", "inside", "outside", "centre"]);
            assert!(all.clone().any(|choice| *choice == meant), "{word}: {meant}");
        }
        let hint = |word: &str, choices: &[&'static str]| choice_hint(meant_choice(word, choices), choices);
        assert_eq!(hint("R250", &tempers), "did you mean `half-hard`?");
        assert_eq!(hint("Half hard", &tempers), "did you mean `half-hard`?");
        assert_eq!(hint("inches", &units), "did you mean `in`?");
        assert_eq!(hint("furlong", &units), "write `mm`, `cm` or `in`");
    }

    #[test]
    fn a_port_is_found_by_either_part_of_its_name() {
        let ports = ["tank.out", "tank.back", "pump.out", "pump.in", "valve.in"];
        let told = |name: &str| port(name, ports.into_iter());
        assert_eq!(told("tank.otu").1, "did you mean `tank.out`?");
        assert_eq!(told("tank out").1, "did you mean `tank.out`?");
        assert_eq!(told("Tank-Out").1, "did you mean `tank.out`?");
        assert_eq!(told("out").1, "name the component, too: write `tank.out` or `pump.out`");
        assert_eq!(told("tank").1, "ports of `tank` here are tank.out, tank.back");
        assert_eq!(told("valve").1, "write `valve.in`, its only port");
        assert_eq!(port("a.b", [].into_iter()).1, "write a point [x, y, z], or {at: [...], facing: [...]}");
    }
}
