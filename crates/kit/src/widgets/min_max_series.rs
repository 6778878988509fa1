//! Many readings made few for drawing, without losing the lowest or the highest.

/// A stretch of time with the lowest and the highest of its readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bucket {
    /// The moment of its first reading, in seconds.
    pub from: i64,
    /// The moment of its last.
    pub to: i64,
    /// The lowest.
    pub low: f32,
    /// The highest.
    pub high: f32,
}

/// Readings at every coarseness: each level holds a sixteenth of the buckets of the one before it. Made once, off the
/// drawing thread; asked each frame.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MinMaxSeries {
    levels: Vec<Vec<Bucket>>,
    gap: i64,
}

/// How many buckets of a level make one of the next.
const FACTOR: usize = 16;

impl MinMaxSeries {
    /// A series of readings in the order of time. No bucket reaches over a silence longer than `gap` seconds.
    pub fn new(readings: impl Iterator<Item = (i64, f32)>, gap: i64) -> Self {
        let first: Vec<Bucket> = readings
            .map(|(at, value)| Bucket {
                from: at,
                to: at,
                low: value,
                high: value,
            })
            .collect();
        let mut levels = vec![first];
        while levels[levels.len() - 1].len() > 4 * FACTOR {
            let finer = &levels[levels.len() - 1];
            let mut coarser: Vec<Bucket> = Vec::with_capacity(finer.len() / FACTOR + 1);
            let mut held = 0;
            for bucket in finer {
                match coarser.last_mut() {
                    Some(last) if held < FACTOR && bucket.from - last.to <= gap => {
                        last.to = bucket.to;
                        last.low = last.low.min(bucket.low);
                        last.high = last.high.max(bucket.high);
                        held += 1;
                    }
                    _ => {
                        coarser.push(*bucket);
                        held = 1;
                    }
                }
            }
            // Nothing but silences: coarser won't be fewer.
            if coarser.len() * 2 > finer.len() {
                break;
            }
            levels.push(coarser);
        }
        Self { levels, gap }
    }

    /// The moments of the first and the last reading.
    pub fn ends(&self) -> Option<(i64, i64)> {
        let finest = self.levels.first()?;
        Some((finest.first()?.from, finest.last()?.to))
    }

    /// Whether nothing is known between two neighbours.
    pub const fn is_gap(&self, one: &Bucket, next: &Bucket) -> bool {
        next.from - one.to > self.gap
    }

    /// The buckets that touch a time, with one on each side of it, as fine as `most` of them allow; where even the
    /// coarsest are more, those.
    pub fn within(&self, from: i64, to: i64, most: usize) -> &[Bucket] {
        let mut found: &[Bucket] = &[];
        for level in &self.levels {
            let begin = level
                .partition_point(|bucket| bucket.to < from)
                .saturating_sub(1);
            let end = (level.partition_point(|bucket| bucket.from <= to) + 1).min(level.len());
            found = &level[begin.min(end)..end];
            if found.len() <= most {
                break;
            }
        }
        found
    }

    /// The reading nearest to a moment.
    pub fn nearest(&self, at: i64) -> Option<(i64, f32)> {
        let finest = self.levels.first()?;
        let after = finest.partition_point(|bucket| bucket.from < at);
        let near = [after.checked_sub(1), Some(after)];
        near.into_iter()
            .flatten()
            .filter_map(|nth| finest.get(nth))
            .min_by_key(|bucket| (bucket.from - at).abs())
            .map(|bucket| (bucket.from, bucket.low))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_extreme_is_lost_at_any_coarseness() {
        let readings = || {
            (0..100_000_i64).map(|nth| {
                let value = if nth == 54_321 {
                    -9.5
                } else {
                    3.0 + (nth % 7) as f32 / 10.0
                };
                (nth * 60, value)
            })
        };
        let min_max_series = MinMaxSeries::new(readings(), 300);
        let shown = min_max_series.within(0, 6_000_000, 2000);
        assert!(shown.len() <= 2000 && shown.len() > 100, "{}", shown.len());
        let low = shown
            .iter()
            .map(|bucket| bucket.low)
            .fold(f32::INFINITY, f32::min);
        let high = shown.iter().map(|bucket| bucket.high).fold(0.0, f32::max);
        assert_eq!((low, high), (-9.5, 3.6));
        let near = min_max_series.within(54_300 * 60, 54_340 * 60, 2000);
        assert!(
            near.len() <= 43 && near.iter().all(|bucket| bucket.from == bucket.to),
            "single readings when near"
        );
        assert_eq!(
            min_max_series.nearest(54_321 * 60 + 10),
            Some((54_321 * 60, -9.5))
        );
    }

    #[test]
    fn a_silence_stays_a_silence() {
        let before = (0..1000_i64).map(|nth| (nth * 60, 3.0));
        let after = (0..1000_i64).map(|nth| (500_000 + nth * 60, 3.0));
        let min_max_series = MinMaxSeries::new(before.chain(after), 300);
        let shown = min_max_series.within(0, 600_000, 200);
        let gaps = shown
            .windows(2)
            .filter(|pair| min_max_series.is_gap(&pair[0], &pair[1]))
            .count();
        assert_eq!(gaps, 1);
        assert_eq!(MinMaxSeries::default().ends(), None);
        assert!(
            MinMaxSeries::default().within(0, 1, 10).is_empty()
                && MinMaxSeries::default().nearest(0).is_none()
        );
    }
}
