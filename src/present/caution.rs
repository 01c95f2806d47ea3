//! The cautions that go with every plan, once: reports, help and the README take them from here.

/// What a plan cannot know, and the dangers of such trips; each in whole sentences.
///
/// Sources: filling on the ground, nozzle touching, never inside a vehicle: NIOSH/NHTSA and petroleum
/// industry warning; flammable at 1.4 to 7.6 % in air: WA mines department; room for expansion: ADR
/// 4.1.1.4; roof ratings count the rack and are for driving: trade guides. The rest is common practice.
pub const CAUTIONS: [&str; 8] = [
    "This plan is an estimate. It is no substitute for local rules, the vehicle maker's figures or \
     a licensed fitter.",
    "Water before fuel: load it first, and for more days than planned. If you are stranded, stay with the vehicle.",
    "Petrol vapour explodes. Carry fuel only in containers approved for it, never inside the \
     passenger compartment, strapped down, away from heat and sparks.",
    "Fill cans on the ground, the nozzle touching the can, and not completely: fuel expands. Vent \
     a warm can slowly before opening it.",
    "Decant with the engine off and cooled, no flame near, on level ground.",
    "A loaded roof raises the risk of rollover. The roof limit is the dynamic rating and includes the \
     rack.",
    "An overloaded vehicle takes longer to stop. Gross vehicle mass and axle limits are law; weigh \
     the vehicle as it leaves.",
    "Limits on carried fuel differ from country to country: ask before you cross a border.",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_caution_is_a_sentence_of_plain_letters() {
        for caution in CAUTIONS {
            assert!(caution.is_ascii() && caution.ends_with('.') && !caution.contains("  "));
        }
    }
}
