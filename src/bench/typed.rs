//! What people type: target IDs, depths with their unit, names of set-ups.

use super::BenchError;
use crate::book::{Book, Setup, Table, setup_name};

/// The unit a depth is typed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DepthUnit {
    /// Centimetres.
    #[default]
    Centimetres,
    /// Inches of 2.54 cm.
    Inches,
}

impl DepthUnit {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Centimetres, Self::Inches];

    /// How the screen says it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Centimetres => "cm",
            Self::Inches => "in",
        }
    }

    /// Metres in one.
    pub fn metres(self) -> f64 {
        match self {
            Self::Centimetres => 0.01,
            Self::Inches => 0.0254,
        }
    }
}

/// Reads target IDs as they came: whole numbers parted by spaces, commas, semicolons or strokes.
///
/// # Errors
/// [`BenchError::BadIds`] for anything else; an empty text is an empty row.
pub fn read_ids(text: &str) -> Result<Vec<i32>, BenchError> {
    let parts = text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '/')).filter(|p| !p.is_empty());
    parts
        .map(|part| {
            let plain = part.replace('\u{2212}', "-");
            let id = plain.parse::<i32>().ok().filter(|id| (-999..=999).contains(id));
            id.ok_or_else(|| BenchError::BadIds { text: part.to_owned() })
        })
        .collect()
}

/// Reads one depth, metres; a unit written with it wins over `usual`.
///
/// # Errors
/// [`BenchError::BadDepth`] for anything that is not one number, two units at once, or a depth outside 0 to 3 m.
pub fn read_depth_m(text: &str, usual: DepthUnit) -> Result<f64, BenchError> {
    let wrong = || BenchError::BadDepth { text: text.trim().to_owned() };
    let plain = text.trim().to_lowercase().replace(',', ".");
    let split = plain.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(plain.len());
    let (number, unit) = plain.split_at(split);
    let unit = match unit.trim() {
        "" => usual,
        "cm" | "centimetres" | "centimeters" => DepthUnit::Centimetres,
        "in" | "inch" | "inches" | "\"" | "″" => DepthUnit::Inches,
        _ => return Err(wrong()),
    };
    let depth_m = number.parse::<f64>().map_err(|_| wrong())? * unit.metres();
    if (0.0..=3.0).contains(&depth_m) { Ok(depth_m) } else { Err(wrong()) }
}

/// The set-up a person means: by its uid, or by its name whatever the case.
///
/// # Errors
/// [`BenchError::NoSetup`] when there is none, [`BenchError::SameName`] when the name does not decide.
pub fn setup_named<'b>(book: &'b Book, name: &str) -> Result<&'b Setup, BenchError> {
    let wanted = setup_name(name);
    if let Some(setup) = book.setups().values().find(|s| s.uid.to_string() == wanted) {
        return Ok(setup);
    }
    let so_called: Vec<&Setup> = book.setups().values().filter(|s| setup_name(&s.name) == wanted).collect();
    match so_called.as_slice() {
        [setup] => Ok(setup),
        [] => {
            let names: Vec<String> = book.setups().values().map(|s| format!("\"{}\"", s.name)).collect();
            let known = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
            Err(BenchError::NoSetup { name: name.trim().to_owned(), known })
        }
        several => {
            let uids: Vec<String> = several.iter().map(|s| s.uid.to_string()).collect();
            Err(BenchError::SameName { name: name.trim().to_owned(), count: several.len(), uids: uids.join(", ") })
        }
    }
}

/// The name of a set-up, with the start of its uid where another has the same name.
pub fn setup_label(setups: &Table<Setup>, setup: &Setup) -> String {
    let name = setup.name.trim();
    let same = setups.values().filter(|s| setup_name(&s.name) == setup_name(name)).count();
    if same > 1 { format!("{name} ({:.6})", setup.uid.to_string()) } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Edit, Uid};

    #[test]
    fn target_ids_as_people_type_them() {
        assert_eq!(read_ids("60 61 60").unwrap(), [60, 61, 60]);
        assert_eq!(read_ids(" 60,61 ; -4/−5").unwrap(), [60, 61, -4, -5]);
        assert_eq!(read_ids("").unwrap(), Vec::<i32>::new());
        for bad in ["60cm", "6.5", "sixty", "60 99999"] {
            assert!(matches!(read_ids(bad), Err(BenchError::BadIds { .. })), "{bad}");
        }
    }

    #[test]
    fn a_depth_has_one_unit() {
        let cm = |text| read_depth_m(text, DepthUnit::Centimetres).map(|m| (m * 1e6).round() / 1e6);
        assert_eq!(cm("15").unwrap(), 0.15);
        assert_eq!(cm("6 in").unwrap(), 0.1524);
        assert_eq!(cm("6\"").unwrap(), 0.1524);
        assert_eq!(cm("12,5 cm").unwrap(), 0.125);
        assert_eq!(cm("0").unwrap(), 0.0);
        assert_eq!(read_depth_m("10", DepthUnit::Inches).unwrap(), 0.254);
        for bad in ["", "6 in 2 cm", "15 cm 6 in", "-5", "400", "deep", "5 ft", "1.2.3"] {
            assert!(matches!(cm(bad), Err(BenchError::BadDepth { .. })), "{bad}");
        }
    }

    #[test]
    fn two_set_ups_of_one_name_are_told_apart() {
        let mut book = Book::new();
        let (a, b) = (Setup::new("Wet"), Setup { uid: Uid::fresh(), ..Setup::new("wet ") });
        book.apply(&Edit::Batch(vec![Edit::put(a.clone()), Edit::put(b.clone())])).unwrap();
        let why = setup_named(&book, "WET").unwrap_err().to_string();
        assert!(why.contains(&a.uid.to_string()) && why.contains(&b.uid.to_string()), "{why}");
        assert_eq!(setup_named(&book, &b.uid.to_string()).unwrap().uid, b.uid);
        assert_ne!(setup_label(book.setups(), &a), setup_label(book.setups(), &b));
        assert!(setup_named(&book, "dry").unwrap_err().to_string().contains("\"Wet\""));
    }
}
