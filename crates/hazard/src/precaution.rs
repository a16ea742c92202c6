//! Which precautions to print, and why.
//!
//! The law lists precautions class by class, asks to leave out what does not
//! fit the thing sold, and to print six at most unless the hazards need more
//! (CLP Articles 22 and 28). How we choose among them is our own rule, written
//! down here so that it can be held against the law.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::class::{Class, Hazard};
use crate::label::{Audience, LeftOut, Setting, SignalWord, State};
use crate::phrase::{self, Own};

/// Article 28(3).
const MOST: usize = 6;

/// A precaution that was chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Choice {
    /// Its code: `P302+P352`.
    pub code: &'static str,
    /// Why it is there.
    pub why: String,
    /// Whether it stays even beyond six.
    pub must: bool,
    /// The classes that list it; none for the general ones.
    #[serde(skip)]
    pub(crate) classes: Vec<Class>,
    /// Our rank of it, 1 the first.
    #[serde(skip)]
    pub(crate) rank: u8,
}

/// The precautions chosen, and those not.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Selection {
    /// Chosen, by code.
    pub chosen: Vec<Choice>,
    /// Not chosen, each with the reason.
    pub left_out: Vec<LeftOut>,
    /// Classes whose precautions are not in the table.
    pub unlisted: Vec<Class>,
}

/// The precautions the law lists for a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listed {
    /// To prevent.
    pub prevention: &'static [&'static str],
    /// To respond.
    pub response: &'static [&'static str],
    /// To store.
    pub storage: &'static [&'static str],
    /// To dispose.
    pub disposal: &'static [&'static str],
    /// The section of CLP Annex I.
    pub section: &'static str,
    /// Whether the codes could be read in the law or a sister text; the others
    /// are from memory.
    pub read: bool,
}

impl Listed {
    /// Every code of it.
    pub fn codes(&self) -> impl Iterator<Item = &'static str> {
        [self.prevention, self.response, self.storage, self.disposal]
            .into_iter()
            .flatten()
            .copied()
    }
}

const fn listed(
    prevention: &'static [&'static str],
    response: &'static [&'static str],
    storage: &'static [&'static str],
    disposal: &'static [&'static str],
    section: &'static str,
    read: bool,
) -> Listed {
    Listed {
        prevention,
        response,
        storage,
        disposal,
        section,
        read,
    }
}

const P501: &[&str] = &["P501"];
const CMR: &[&str] = &["P201", "P202", "P280"];

/// The label element tables of CLP Annex I, state of 1 September 2025; no
/// entry for the physical classes a wax or an oil cannot have.
#[rustfmt::skip]
pub fn listed_for(class: Class) -> Option<Listed> {
    use Class as C;
    Some(match class {
        C::FlamLiq1 | C::FlamLiq2 | C::FlamLiq3 => listed(
            &["P210", "P233", "P240", "P241", "P242", "P243", "P280"],
            &["P303+P361+P353", "P370+P378"], &["P403+P235"], P501, "2.6.3", true),
        C::FlamSol1 | C::FlamSol2 => listed(
            &["P210", "P240", "P241", "P280"], &["P370+P378"], &[], &[], "2.7.3", false),
        C::AcuteOral1 | C::AcuteOral2 | C::AcuteOral3 => listed(
            &["P264", "P270"], &["P301+P310", "P321", "P330"], &["P405"], P501, "3.1.4", true),
        C::AcuteOral4 => listed(
            &["P264", "P270"], &["P301+P312", "P330"], &[], P501, "3.1.4", true),
        C::AcuteDermal1 | C::AcuteDermal2 => listed(
            &["P262", "P264", "P270", "P280"], &["P302+P352", "P310", "P321", "P361+P364"],
            &["P405"], P501, "3.1.4", true),
        C::AcuteDermal3 => listed(
            &["P280"], &["P302+P352", "P312", "P321", "P361+P364"], &["P405"], P501, "3.1.4", true),
        C::AcuteDermal4 => listed(
            &["P280"], &["P302+P352", "P312", "P321", "P362+P364"], &[], P501, "3.1.4", true),
        C::AcuteInhalation1 | C::AcuteInhalation2 => listed(
            &["P260", "P271", "P284"], &["P304+P340", "P310", "P320"],
            &["P403+P233", "P405"], P501, "3.1.4", false),
        C::AcuteInhalation3 => listed(
            &["P261", "P271"], &["P304+P340", "P311", "P321"],
            &["P403+P233", "P405"], P501, "3.1.4", false),
        C::AcuteInhalation4 => listed(
            &["P261", "P271"], &["P304+P340", "P312"], &[], &[], "3.1.4", false),
        C::SkinCorr1 | C::SkinCorr1A | C::SkinCorr1B | C::SkinCorr1C => listed(
            &["P260", "P264", "P280"],
            &["P301+P330+P331", "P303+P361+P353", "P363", "P304+P340", "P310", "P321", "P305+P351+P338"],
            &["P405"], P501, "3.2.4", false),
        C::SkinIrrit2 => listed(
            &["P264", "P280"], &["P302+P352", "P321", "P332+P313", "P362+P364"], &[], &[], "3.2.4", false),
        C::EyeDam1 => listed(
            &["P280"], &["P305+P351+P338", "P310"], &[], &[], "3.3.4", true),
        C::EyeIrrit2 => listed(
            &["P264", "P280"], &["P305+P351+P338", "P337+P313"], &[], &[], "3.3.4", true),
        C::RespSens1 | C::RespSens1A | C::RespSens1B => listed(
            &["P261", "P284"], &["P304+P340", "P342+P311"], &[], P501, "3.4.4", true),
        C::SkinSens1 | C::SkinSens1A | C::SkinSens1B => listed(
            &["P261", "P272", "P280"], &["P302+P352", "P333+P313", "P321", "P362+P364"],
            &[], P501, "3.4.4", true),
        C::Muta1A | C::Muta1B | C::Muta2 => listed(
            CMR, &["P308+P313"], &["P405"], P501, "3.5.4", false),
        C::Carc1A | C::Carc1B | C::Carc2 => listed(
            CMR, &["P308+P313"], &["P405"], P501, "3.6.4", true),
        C::Repr1A | C::Repr1B | C::Repr2 => listed(
            CMR, &["P308+P313"], &["P405"], P501, "3.7.4", false),
        C::Lact => listed(
            &["P201", "P260", "P263", "P264", "P270"], &["P308+P313"], &[], &[], "3.7.4", false),
        C::StotSe1 => listed(
            &["P260", "P264", "P270"], &["P308+P311", "P321"], &["P405"], P501, "3.8.4", true),
        C::StotSe2 => listed(
            &["P260", "P264", "P270"], &["P308+P311"], &["P405"], P501, "3.8.4", true),
        C::StotSe3Irritation | C::StotSe3Narcosis => listed(
            &["P261", "P271"], &["P304+P340", "P312"], &["P403+P233", "P405"], P501, "3.8.4", true),
        C::StotRe1 => listed(
            &["P260", "P264", "P270"], &["P314"], &[], P501, "3.9.4", true),
        C::StotRe2 => listed(
            &["P260"], &["P314"], &[], P501, "3.9.4", true),
        C::AspTox1 => listed(
            &[], &["P301+P310", "P331"], &["P405"], P501, "3.10.4", true),
        C::AquaticAcute1 | C::AquaticChronic1 | C::AquaticChronic2 => listed(
            &["P273"], &["P391"], &[], P501, "4.1.4", true),
        C::AquaticChronic3 | C::AquaticChronic4 => listed(
            &["P273"], &[], &[], P501, "4.1.4", true),
        C::EdHh1 | C::EdHh2 => listed(
            &["P201", "P202", "P263", "P280"], &["P308+P313"], &["P405"], P501, "3.11.4", false),
        C::EdEnv1 | C::EdEnv2 => listed(
            &["P201", "P202", "P273"], &["P391"], &["P405"], P501, "4.2.4", true),
        C::Pbt | C::Vpvb => listed(
            &["P201", "P202", "P273"], &["P391"], &[], P501, "4.3.4", true),
        C::Pmt | C::Vpvm => listed(
            &["P201", "P202", "P273"], &["P391"], &[], P501, "4.4.4", false),
        C::Ozone1 => listed(
            &[], &[], &[], &["P502"], "5.1.4", true),
        _ => return None,
    })
}

/// Chooses the precautions for a mixture of these classes.
///
/// 1. Candidates are the rows of the classes and, for the public, P101, P102
///    and, with instructions, P103.
/// 2. What does not fit the thing sold is struck.
/// 3. Of two that say the same the stronger stays.
/// 4. The rest is ranked; the first six stay, and beyond six those that the
///    nature of the hazards needs.
pub fn choose(hazards: &[Hazard], setting: &Setting) -> Selection {
    let mut selection = Selection::default();
    if hazards.is_empty() {
        return selection;
    }
    let mut candidates: BTreeMap<&'static str, Vec<Class>> = BTreeMap::new();
    for hazard in hazards {
        match listed_for(hazard.class) {
            Some(row) => {
                for code in row.codes() {
                    let classes = candidates.entry(code).or_default();
                    if !classes.contains(&hazard.class) {
                        classes.push(hazard.class);
                    }
                }
            }
            None => selection.unlisted.push(hazard.class),
        }
    }
    if setting.audience == Audience::Public {
        candidates.entry("P101").or_default();
        candidates.entry("P102").or_default();
        if setting.instructions {
            candidates.entry("P103").or_default();
        }
    }
    strike(&mut candidates, setting, &mut selection.left_out);
    merge(&mut candidates, &mut selection.left_out);

    let mut ranked: Vec<Choice> = candidates
        .into_iter()
        .map(|(code, classes)| {
            let (rank, must, why) = rank(code, &classes, setting);
            Choice {
                code,
                why: reason(why, &classes),
                must,
                classes,
                rank,
            }
        })
        .collect();
    ranked.sort_by_key(|choice| (choice.rank, rest_order(choice.code), choice.code));
    for (place, mut choice) in ranked.into_iter().enumerate() {
        if place < MOST {
            selection.chosen.push(choice);
        } else if choice.must {
            choice
                .why
                .push_str("; beyond six, since the hazard needs it");
            selection.chosen.push(choice);
        } else {
            selection.left_out.push(LeftOut {
                what: choice.code.to_owned(),
                why: "six others come first".to_owned(),
                law: "CLP Article 28(3)".to_owned(),
            });
        }
    }
    selection.chosen.sort_by_key(|choice| choice.code);
    selection
}

fn reason(why: &str, classes: &[Class]) -> String {
    let codes: Vec<&str> = classes.iter().map(|class| class.code()).collect();
    match (why, codes.is_empty()) {
        (why, true) => why.to_owned(),
        ("", false) => format!("for {}", codes.join(", ")),
        (why, false) => format!("{why}, for {}", codes.join(", ")),
    }
}

/// Strikes what does not fit the thing sold (CLP Article 28(1)).
fn strike(
    candidates: &mut BTreeMap<&'static str, Vec<Class>>,
    setting: &Setting,
    left_out: &mut Vec<LeftOut>,
) {
    let public = setting.audience == Audience::Public;
    candidates.retain(|code, classes| {
        let why = unfit(code, classes, setting, public);
        if let Some(why) = why {
            left_out.push(LeftOut {
                what: (*code).to_owned(),
                why: why.to_owned(),
                law: "CLP Article 28(1)".to_owned(),
            });
        }
        why.is_none()
    });
}

fn unfit(code: &str, classes: &[Class], setting: &Setting, public: bool) -> Option<&'static str> {
    let worded = setting.own.iter().any(|((own, _), words)| {
        own == code && !matches!(words, Own::Gap(gap) | Own::Text(gap) if gap.trim().is_empty())
    });
    match code {
        "P320" | "P321" if !worded => Some("no special treatment is printed on the label"),
        "P241" | "P370+P378" if !worded => {
            Some("it leaves a gap for your words, and none are given")
        }
        "P240" | "P241" | "P242" | "P243" | "P272" | "P284" | "P363" if public => {
            Some("it is meant for a workplace")
        }
        "P403+P233" | "P405" if public && !classes.iter().any(|class| is_grave(*class)) => {
            Some("no hazard of the severer kind asks for it in a home")
        }
        "P260" | "P261"
            if public
                && !classes.iter().any(|class| {
                    breathed(*class) || (setting.warmed && may_be_breathed(*class))
                }) =>
        {
            Some("it gives off no vapour in use")
        }
        "P233" if public && setting.state == State::Solid => Some("it is no liquid"),
        _ => None,
    }
}

/// Health hazards with the word Danger.
fn is_grave(class: Class) -> bool {
    class.is_health() && class.signal_word() == Some(SignalWord::Danger)
}

/// Classes of which breathing is the way.
fn breathed(class: Class) -> bool {
    matches!(class.acute(), Some((crate::class::Route::Inhalation, _)))
}

/// Classes whose row asks not to breathe it and which vapour can bring about.
fn may_be_breathed(class: Class) -> bool {
    use Class as C;
    matches!(
        class,
        C::SkinSens1
            | C::SkinSens1A
            | C::SkinSens1B
            | C::RespSens1
            | C::RespSens1A
            | C::RespSens1B
            | C::StotSe1
            | C::StotSe2
            | C::StotSe3Irritation
            | C::StotSe3Narcosis
            | C::StotRe1
            | C::StotRe2
            | C::SkinCorr1
            | C::SkinCorr1A
            | C::SkinCorr1B
            | C::SkinCorr1C
            | C::Lact
    )
}

/// Of two that say the same the stronger stays: that one, the one it covers.
const COVERS: &[(&str, &str)] = &[
    ("P310", "P311"),
    ("P310", "P312"),
    ("P311", "P312"),
    ("P301+P310", "P301+P312"),
    ("P260", "P261"),
    ("P301+P330+P331", "P330"),
    ("P301+P330+P331", "P331"),
    ("P308+P311", "P308+P313"),
    ("P333+P313", "P332+P313"),
    ("P303+P361+P353", "P302+P352"),
    ("P361+P364", "P362+P364"),
    ("P202", "P103"),
];

fn merge(candidates: &mut BTreeMap<&'static str, Vec<Class>>, left_out: &mut Vec<LeftOut>) {
    let mut cover = |stronger: &'static str, weaker: &'static str, law: &str| {
        if !candidates.contains_key(stronger) {
            return;
        }
        if let Some(classes) = candidates.remove(weaker) {
            left_out.push(LeftOut {
                what: weaker.to_owned(),
                why: format!("{stronger} says it already"),
                law: law.to_owned(),
            });
            let kept = candidates.entry(stronger).or_default();
            kept.extend(classes);
            kept.sort_unstable();
            kept.dedup();
        }
    };
    for (stronger, weaker) in COVERS {
        cover(stronger, weaker, "CLP Article 28(1)");
    }
    let grave_skin = candidates
        .get("P362+P364")
        .is_some_and(|classes| classes.iter().any(|class| is_grave(*class)));
    if !grave_skin
        && candidates.contains_key("P302+P352")
        && candidates.remove("P362+P364").is_some()
    {
        left_out.push(LeftOut {
            what: "P362+P364".to_owned(),
            why: "beside P302+P352 it adds little for a solid or a few drops".to_owned(),
            law: "CLP Article 28(1)".to_owned(),
        });
    }
}

/// Our rank of a precaution, whether it must stay, and what it is for.
fn rank(code: &str, classes: &[Class], setting: &Setting) -> (u8, bool, &'static str) {
    let led_by = |codes: &[&str]| {
        classes
            .iter()
            .any(|class| class.h_codes().iter().any(|h| codes.contains(h)))
    };
    match code {
        "P102" => (1, true, "anything hazardous in a home"),
        "P301+P310" | "P301+P330+P331" => (2, true, "what to do at once when swallowed"),
        "P331" => (2, true, "vomiting would bring it into the lungs"),
        "P305+P351+P338" => (3, true, "what to do at once for the eyes"),
        "P310" if led_by(&["H314", "H318", "H310", "H330"]) => (3, true, "help is needed at once"),
        "P302+P352" | "P303+P361+P353" => (4, true, "what to do at once for the skin"),
        "P210" => (4, true, "it catches fire easily"),
        "P304+P340" | "P311" if classes.iter().any(|class| is_grave(*class)) => {
            (4, true, "what to do at once when breathed in")
        }
        "P342+P311" => (4, true, "what to do at once when breathing is hard"),
        "P501" if setting.audience == Audience::Public => (
            5,
            true,
            "the public is always told about disposal where a class lists it (CLP Article 28(2))",
        ),
        "P501" => (5, true, "disposal"),
        "P333+P313" | "P332+P313" | "P337+P313" => (6, false, "when to see a doctor"),
        "P273" => (7, false, "water"),
        "P101" => (8, false, "the doctor will ask for it"),
        "P280" if led_by(&["H317", "H314", "H318"]) => (9, false, "gloves keep it off the skin"),
        "P264" | "P270" => (10, false, "hands and mouth"),
        "P391" => (11, false, "spills"),
        _ => (12, false, ""),
    }
}

/// The order within one rank, the last one above all.
fn rest_order(code: &str) -> u8 {
    match code {
        "P103" => 0,
        "P261" | "P260" => 1,
        "P271" => 2,
        "P308+P313" | "P308+P311" => 3,
        _ => 4,
    }
}

/// Whether P280 is to speak of the eyes too.
pub(crate) fn eyes_too(classes: &[Class]) -> bool {
    classes.iter().any(|class| {
        matches!(
            class,
            Class::EyeDam1
                | Class::EyeIrrit2
                | Class::SkinCorr1
                | Class::SkinCorr1A
                | Class::SkinCorr1B
                | Class::SkinCorr1C
        )
    })
}

/// Whether a statement has its text in every language asked for.
pub fn is_worded(code: &str, setting: &Setting) -> bool {
    setting
        .languages
        .iter()
        .all(|language| phrase::printed(code, *language, &setting.own).is_ok())
}
