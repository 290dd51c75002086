/// The words for a chance, 0 to 1.
///
/// Mastrandrea et al. (2010), *Guidance note for lead authors of the IPCC Fifth Assessment Report on
/// consistent treatment of uncertainties*, table 1.
pub fn likelihood_words(chance: f64) -> &'static str {
    match chance {
        c if c >= 0.99 => "virtually certain",
        c if c >= 0.90 => "very likely",
        c if c >= 0.66 => "likely",
        c if c > 0.33 => "about as likely as not",
        c if c > 0.10 => "unlikely",
        c if c > 0.01 => "very unlikely",
        _ => "exceptionally unlikely",
    }
}
