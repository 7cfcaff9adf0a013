//! Where a sparse matrix has entries, and an order of its columns that keeps its factors sparse.
//!
//! ```text
//! entries (0,0) (1,0) (0,0) (1,1) of a 2 × 2 matrix; two elements add to (0,0)
//! sorted by column, once each   (0,0) (1,0) | (1,1)   starts 0 2 3   rows 0 1 1
//! places of the entries         0 1 0 2: where each contribution is added, found once
//! an entry (2,0)                place 3, past the last: a chassis' row, written and never read
//! ```

/// Where a square matrix has entries, by columns.
#[derive(Debug, Clone)]
pub struct Pattern {
    starts: Vec<u32>,
    rows: Vec<u32>,
}

impl Pattern {
    /// The pattern of `entries` (row, column), and for each of them its place among the values. An entry
    /// outside the matrix gets the place one past the last value, which `Lu` never reads.
    pub fn new(size: usize, entries: &[(u32, u32)]) -> (Self, Vec<u32>) {
        let mut sorted: Vec<(u32, u32)> = entries
            .iter()
            .filter(|entry| (entry.0 as usize) < size && (entry.1 as usize) < size)
            .map(|&(row, column)| (column, row))
            .collect();
        // By column, then row: columns are what the factorisation walks, rows in order are what the search below
        // needs.
        sorted.sort_unstable();
        sorted.dedup();
        let mut starts = vec![0; size + 1];
        for &(column, _) in &sorted {
            starts[column as usize + 1] += 1;
        }
        // Counts become starts.
        for column in 0..size {
            starts[column + 1] += starts[column];
        }
        let rows: Vec<u32> = sorted.iter().map(|&(_, row)| row).collect();
        let place = |&(row, column): &(u32, u32)| {
            if row as usize >= size || column as usize >= size {
                return rows.len() as u32;
            }
            let (from, to) = (starts[column as usize], starts[column as usize + 1]);
            from + rows[from as usize..to as usize].partition_point(|&other| other < row) as u32
        };
        let places = entries.iter().map(place).collect();
        (Self { starts, rows }, places)
    }

    /// How many values a matrix of this pattern has.
    pub fn entries(&self) -> usize {
        self.rows.len()
    }

    /// The number of columns.
    pub fn size(&self) -> usize {
        self.starts.len() - 1
    }

    /// The places of a column's values.
    pub fn column(&self, column: usize) -> std::ops::Range<usize> {
        self.starts[column] as usize..self.starts[column + 1] as usize
    }

    /// The row of the value at a place.
    pub fn row(&self, place: usize) -> u32 {
        self.rows[place]
    }

    /// The rows of the values at some places.
    pub fn rows(&self, places: std::ops::Range<usize>) -> &[u32] {
        &self.rows[places]
    }

    /// Columns in an order that keeps the factors sparse.
    pub fn order(&self) -> Vec<u32> {
        let as_i64 = |list: &[u32]| list.iter().map(|&x| i64::from(x)).collect::<Vec<_>>();
        // Approximate minimum degree (P. R. Amestoy, T. A. Davis, I. S. Duff, SIAM J. Matrix Anal. 17(4), 1996, from
        // memory): what couples to least is eliminated first. On a circuit, near a tree, that leaves next to no fill.
        let ordered = amd::order(
            i64::from(self.size() as u32),
            &as_i64(&self.starts),
            &as_i64(&self.rows),
            &amd::Control::default(),
        );
        match ordered {
            Ok((order, _, _)) => order.into_iter().map(|x| x as u32).collect(),
            // The order decides speed alone: any will do for an answer.
            Err(_) => (0..self.size() as u32).collect(),
        }
    }
}
