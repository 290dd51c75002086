//! How finely a permission lets places be told.

use crate::book::{Kind, Permission, Telling};
use crate::earth::SquareSide;

/// What is hidden of a position where the permission names nothing, metres.
pub const USUAL_GRID_M: f64 = 100.0;

/// How finely places are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precision {
    /// Where they are.
    Exact,
    /// As the squares of a grid fixed to the earth in which they lie.
    Squares(SquareSide),
    /// Not at all.
    Withheld,
}

impl Precision {
    /// How finely the places of one kind may be told.
    pub fn granted_for(permission: &Permission, kind: &Kind) -> Self {
        permission.rule_for(kind).map_or_else(|| Self::granted(permission), Self::of_telling)
    }

    /// How it is said.
    pub fn said(self) -> String {
        match self {
            Self::Exact => "exact".to_owned(),
            Self::Squares(side) => format!("as squares of {}", metres(side)),
            Self::Withheld => "withheld".to_owned(),
        }
    }

    /// The coarsest that a permission has for any kind: what is told of no single find must give none away.
    pub fn coarsest(permission: &Permission) -> Self {
        let by_kind = permission.agreed.places.iter().map(|rule| Self::of_telling(rule.told));
        by_kind.fold(Self::granted(permission), |a, b| if b.hidden_m() > a.hidden_m() { b } else { a })
    }

    fn of_telling(told: Telling) -> Self {
        match told {
            Telling::Exact => Self::Exact,
            Telling::M10 => Self::Squares(SquareSide::M10),
            Telling::M100 => Self::Squares(SquareSide::M100),
            Telling::Km1 => Self::Squares(SquareSide::Km1),
            Telling::Withheld => Self::Withheld,
        }
    }

    fn hidden_m(self) -> f64 {
        match self {
            Self::Exact => 0.0,
            Self::Squares(side) => side.m(),
            Self::Withheld => f64::INFINITY,
        }
    }

    /// What a permission grants where no kind is named.
    pub fn granted(permission: &Permission) -> Self {
        // A grid that is named as well asks for less.
        if permission.exact_positions && permission.coarsen_m.is_none() {
            Self::Exact
        } else {
            Self::Squares(SquareSide::of_at_least(permission.coarsen_m.unwrap_or(USUAL_GRID_M)))
        }
    }
}

/// A side as people say it.
pub(super) fn metres(side: SquareSide) -> String {
    if side.m() < 1000.0 { format!("{:.0} m", side.m()) } else { format!("{:.0} km", side.m() / 1000.0) }
}

#[cfg(test)]
mod tests {
    use geo_types::{MultiPolygon, polygon};

    use super::*;
    use crate::book::{Agreed, PlaceRule, Uid};

    #[test]
    fn a_rule_for_a_kind_comes_before_what_holds_for_all() {
        let area = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 0.0, y: 1.0)]]);
        let mut permission = Permission { exact_positions: true, ..Permission::new(Uid::fresh(), "Bay", area) };
        permission.agreed.places = PlaceRule::read_all("jewellery withheld; coins 1 km").unwrap();
        let of = |p: &Permission, kind: &str| Precision::granted_for(p, &Kind::keyed(kind));
        assert_eq!(of(&permission, "ring"), Precision::Withheld);
        assert_eq!(Precision::coarsest(&permission), Precision::Withheld);
        assert_eq!(of(&permission, "coin"), Precision::Squares(SquareSide::Km1));
        assert_eq!(of(&permission, "lead"), Precision::Exact);
        let coins = Permission {
            agreed: Agreed { places: PlaceRule::read_all("coins 1 km").unwrap(), ..Agreed::default() },
            ..permission.clone()
        };
        assert_eq!(Precision::coarsest(&coins), Precision::Squares(SquareSide::Km1));
        let bare = Permission { exact_positions: false, coarsen_m: None, ..permission.clone() };
        assert_eq!(of(&bare, "lead"), Precision::Squares(SquareSide::M100));
        // A grid that is named as well as exactness asks for less; an unusual one is not rounded down.
        assert_eq!(of(&Permission { coarsen_m: Some(250.0), ..permission }, "lead"), Precision::Squares(SquareSide::Km1));
    }
}
