use super::words::words;

words! {
    /// How the sea handles a thing: what it carries off, and what it leaves behind.
    Weight, "weight" {
        /// Dense and compact: coins, rings, lead, bullets.
        Heavy = "heavy", "heavy";
        /// Thin, hollow or of low density: ring-pulls, foil, cans, most buttons.
        Light = "light", "light";
        /// Not known.
        Unknown = "unknown", "weight not known";
    }
}

words! {
    /// What a thing is made of.
    Material, "material" {
        /// Gold of any fineness.
        Gold = "gold", "gold";
        /// Silver.
        Silver = "silver", "silver";
        /// Platinum and its like.
        Platinum = "platinum", "platinum";
        /// Copper, bronze or brass.
        CopperAlloy = "copper_alloy", "copper alloy";
        /// Cupro-nickel and nickel.
        Nickel = "nickel", "cupro-nickel";
        /// Lead and pewter.
        Lead = "lead", "lead";
        /// Zinc and its casting alloys.
        Zinc = "zinc", "zinc";
        /// Aluminium.
        Aluminium = "aluminium", "aluminium";
        /// Steel with a plated skin, as in many low coins.
        PlatedSteel = "plated_steel", "plated steel";
        /// Iron and plain steel.
        Iron = "iron", "iron";
        /// Stainless steel.
        Stainless = "stainless", "stainless steel";
        /// Titanium.
        Titanium = "titanium", "titanium";
        /// Anything else.
        Other = "other", "other";
    }
}
