//! Figures of judgement or memory that stand in the code and not in the rule sheet: each is known
//! here, with the reason why it cannot stop a job. A new one belongs into the rule sheet, where
//! moving it is tested (`daemon/domain/src/checks/weak_limits.rs`).

use super::sources;

/// Rooms of calculations that predict; their figures are inputs of a model and no limits.
const MODELS: &[&str] = &[
    "air", "assist", "pack", "ride_fit", "sampling", "thermal", "tour", "trace",
];

/// Name of the figure, and why it stops no job.
const KNOWN: &[(&str, &str)] = &[
    ("ADAPTER_FROM_MM", "asks for an adapter: a caution"),
    (
        "BODY_CLEARANCE_MM",
        "the good limit only; the body in the bore fails by geometry",
    ),
    (
        "BOSS_SPACING_MM",
        "told beside the finding, which goes by rail and bosses as measured",
    ),
    ("CARBON_LESS_NM", "torque.list: advice only"),
    ("CHAIN_STRENGTH_N", "chain.pull: advice only"),
    (
        "COEFFICIENT",
        "a property of copper, within a hundredth of any table's",
    ),
    ("DERATING", "wiring.leads: advice only"),
    ("FAR", "where two forms of one function meet; it weighs causes"),
    ("FLAT_MOST", "brakes.mount: a caution"),
    (
        "FORCED_MM",
        "a caution about threads that nearly pass for each other",
    ),
    ("HUB_RATIOS", "the window of what may be typed and computed"),
    (
        "MARK_BAND",
        "torque.list: advice only, unless every read table says the same",
    ),
    ("MARK_LEAST", "torque.list: advice only"),
    ("NEARLY", "the good limit only; the mark itself stops"),
    (
        "PACK_WH_PER_KG",
        "a stand-in for a mass nobody gave, named as an assumption; the scale clears it",
    ),
    ("PITCH_MM", "the half inch that every chain is made to"),
    (
        "RESISTIVITY",
        "a property of copper, within a hundredth of any table's",
    ),
    ("RIM_PAD_MM", "donor.wear: advice only, by its basis"),
    ("SEALED", "wiring.connector: advice only"),
    ("SHIM_MOST_MM", "says which cure is offered"),
    (
        "SIDE_GAP_CLEAR_MM",
        "the good limit only; a plate that meets the cog fails by geometry",
    ),
    ("SNAP_MM", "names the stored circle that a measured one is near"),
    (
        "UNMARKED_FRAME_KG",
        "over it the check is open and asks for the mark",
    ),
    (
        "USUAL_TO_MM",
        "which formula of tyre pressure; tyre.pressure: advice by judgement",
    ),
    ("WINDOW", "what a typed mark may be at all"),
];

#[test]
fn a_figure_of_judgement_or_memory_is_in_the_rule_sheet_or_known_to_stop_nothing() {
    let found = weak_figures();
    let unknown: Vec<_> = found
        .iter()
        .filter(|(_, name)| !KNOWN.iter().any(|(known, _)| known == name))
        .collect();
    assert!(
        unknown.is_empty(),
        "of judgement or memory, so a row of data/rules.toml, or a reason here: {unknown:?}"
    );
    for (known, why) in KNOWN {
        assert!(!why.is_empty());
        assert!(
            found.iter().any(|(_, name)| name == known),
            "{known} is no longer there"
        );
    }
}

/// File and name of each constant number that its comment calls judgement or from memory.
fn weak_figures() -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (path, text) in sources() {
        let inside = path.display().to_string();
        let limits = [
            "daemon/calc/src/",
            "daemon/domain/src/checks",
            "daemon/domain/src/code/marks",
            "daemon/domain/src/prediction",
        ];
        let is_model = MODELS.iter().any(|room| {
            let room = format!("daemon/calc/src/{room}");
            inside == format!("{room}.rs") || inside.starts_with(&format!("{room}/"))
        });
        let is_test = inside.contains("/tests") || inside.ends_with("tests.rs");
        if !limits.iter().any(|limit| inside.starts_with(limit)) || is_model || is_test {
            continue;
        }
        let product = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
        found.extend(weak_in(product).into_iter().map(|name| (inside.clone(), name)));
    }
    found
}

fn weak_in(text: &str) -> Vec<String> {
    let mut comment = String::new();
    let mut found = Vec::new();
    for line in text.lines().map(str::trim) {
        if let Some(said) = line.strip_prefix("//") {
            comment.push_str(said);
        } else if line.starts_with("#[") {
            // An attribute stands between a comment and what it is about.
        } else {
            if let Some(name) = number(line)
                && ["judgement", "memory"].iter().any(|word| comment.contains(word))
            {
                found.push(name.to_owned());
            }
            comment.clear();
        }
    }
    found
}

/// The name of a constant that holds a number, or numbers.
fn number(line: &str) -> Option<&str> {
    let said = line.strip_prefix("pub ").unwrap_or(line).strip_prefix("const ")?;
    let (name, kind) = said.split_once(": ")?;
    let numbers = [
        "f64", "[f64", "&[f64", "(f64", "u32", "Length", "Mass", "Torque", "Current",
    ];
    numbers
        .iter()
        .any(|number| kind.starts_with(number))
        .then_some(name)
}

#[test]
fn the_reader_tells_weak_figures_from_others() {
    let text = "/// Most of it, mm (workshop\n/// judgement).\n#[rustfmt::skip]\npub const MOST: f64 = 1.0;\n/// Read.\n\
                const READ: f64 = 2.0;\n/// From memory.\nconst PAIR: [f64; 2] = [1.0, 2.0];\n/// From memory.\nfn no() {}\n";
    assert_eq!(weak_in(text), ["MOST", "PAIR"]);
}
