use serde::Serialize;

/// How several numbers lie: from the lowest to the highest, with the quartiles.
///
/// Quartiles are those of the inclusive method, number 7 of Hyndman and Fan (1996, The American Statistician 50, 361–365): the numbers
/// stand in order from 0 to n − 1, and a quarter lies at (n − 1)/4, between two of them in proportion.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Spread {
    /// Of how many evaluators this is; 1 to 12.
    pub count: usize,
    /// The lowest score.
    pub lowest: f64,
    /// The lower quartile of the scores.
    pub lower_quartile: f64,
    /// The score in the middle; of an even number of scores halfway between the two in the middle.
    pub median: f64,
    /// The upper quartile of the scores.
    pub upper_quartile: f64,
    /// The highest score.
    pub highest: f64,
}

/// How some numbers lie; `None` of no numbers, or where one of them is no number.
#[must_use]
pub fn spread(values: &[f64]) -> Option<Spread> {
    if values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let (lowest, highest) = (*sorted.first()?, *sorted.last()?);
    Some(Spread {
        count: sorted.len(),
        lowest,
        lower_quartile: quarter(&sorted, 1)?,
        median: quarter(&sorted, 2)?,
        upper_quartile: quarter(&sorted, 3)?,
        highest,
    })
}

/// The number at so many quarters of the way from the first to the last.
fn quarter(sorted: &[f64], quarters: usize) -> Option<f64> {
    let at = sorted.len().checked_sub(1)? * quarters;
    let (before, part) = (at / 4, at % 4);
    let below = *sorted.get(before)?;
    if part == 0 {
        return Some(below);
    }
    let (above, part) = (*sorted.get(before + 1)?, crate::amount::count(part));
    Some((below * (4.0 - part) + above * part) / 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What Python 3.11.7 says: `statistics.quantiles(values, n=4, method='inclusive')`, whose second is `statistics.median(values)`.
    const BY_PYTHON: [(&[f64], [f64; 3]); 5] = [
        (&[3.0, 4.0, 2.5, 5.0], [2.875, 3.5, 4.25]),
        (&[2.0, 3.5, 4.25], [2.75, 3.5, 3.875]),
        (&[1.0, 2.0, 3.0, 4.0, 5.0, 2.75], [2.1875, 2.875, 3.75]),
        (&[3.2, 3.9], [3.375_000_000_000_000_4, 3.55, 3.724_999_999_999_999_6]),
        (&[2.375, 3.125, 3.5, 4.125, 4.875, 1.75, 3.0], [2.6875, 3.125, 3.8125]),
    ];

    #[test]
    fn quartiles_are_those_of_another_program() {
        for (values, wanted) in BY_PYTHON {
            let found = spread(values).unwrap();
            for (found, wanted) in [found.lower_quartile, found.median, found.upper_quartile].into_iter().zip(wanted) {
                assert!((found - wanted).abs() < 1e-12, "{values:?}: {found} for {wanted}");
            }
            assert_eq!(found.count, values.len());
            assert!(values.contains(&found.lowest) && values.contains(&found.highest));
        }
    }

    #[test]
    fn one_number_is_its_own_spread_and_none_has_none() {
        let one = spread(&[4.4]).unwrap();
        assert_eq!([one.lowest, one.lower_quartile, one.median, one.upper_quartile, one.highest], [4.4; 5]);
        assert_eq!((spread(&[]), spread(&[3.0, f64::NAN])), (None, None));
    }
}
