//! Probability blocks.

use super::token::{Cursor, Token};
use super::{BifError, Declarations, MOST_PARENTS};
use crate::network::{MOST_PROBABILITIES, ROW_SLACK, Table};

/// A table being filled, row by row.
struct Filling<'d, 't> {
    declarations: &'d Declarations<'t>,
    parents: Vec<usize>,
    states: usize,
    rows: Vec<f64>,
    /// Which rows have been given.
    given: Vec<bool>,
    default: Option<Vec<f64>>,
}

/// The tables of all blocks, one for each variable.
pub(super) fn all(
    blocks: Vec<Cursor<'_>>,
    declarations: &Declarations<'_>,
    text: &str,
) -> Result<Vec<Table>, BifError> {
    let mut tables: Vec<Option<Table>> = declarations.variables.iter().map(|_| None).collect();
    let mut room = MOST_PROBABILITIES;
    for mut cursor in blocks {
        let (child, table) = block(&mut cursor, declarations, &tables, room)?;
        room -= table.rows.len();
        if let Some(place) = tables.get_mut(child) {
            *place = Some(table);
        }
    }
    let of = |(table, variable): (Option<Table>, &super::Declared<'_>)| {
        let missing = || {
            let found = format!("{} without a probability block", Token::Quoted(variable.name));
            Cursor::at(text, variable.at).wrong(found, "one block for it")
        };
        table.ok_or_else(missing)
    };
    tables.into_iter().zip(&declarations.variables).map(of).collect()
}

/// `( variable | parents ) { rows }`; gives the variable's place and its table, which may have `room` numbers.
fn block(
    cursor: &mut Cursor<'_>,
    declarations: &Declarations<'_>,
    done: &[Option<Table>],
    room: usize,
) -> Result<(usize, Table), BifError> {
    cursor.mark('(', "\"(\" and the variable's name")?;
    cursor.next()?;
    let child = declared(cursor, declarations)?;
    if done.get(child).is_some_and(Option::is_some) {
        return Err(cursor.wrong(format!("a second table for {}", cursor.last()), "one of them"));
    }
    let parents = parents(cursor, declarations, child)?;
    let states = declarations.variables[child].states.len();
    let count = |of: &usize| declarations.variables[*of].states.len();
    let rows = parents.iter().map(count).fold(1_usize, usize::saturating_mul);
    let size = rows.saturating_mul(states);
    if size > room {
        let found = format!("a table of {size} probabilities");
        return Err(cursor.wrong(found, format!("{room} at most, the rest of {MOST_PROBABILITIES} for the file")));
    }
    cursor.mark('{', "\"{\" and the rows")?;
    let mut filling =
        Filling { declarations, parents, states, rows: vec![0.0; size], given: vec![false; rows], default: None };
    loop {
        match cursor.next()? {
            Token::Mark('(') => filling.row(cursor)?,
            Token::Word("table") => filling.table(cursor)?,
            Token::Word("default") if filling.default.is_some() => {
                return Err(cursor.wrong("a second default row", "one of them"));
            }
            Token::Word("default") => {
                let opening = cursor.clone();
                let row = numbers(cursor, states)?;
                filling.sums_to_one(&row, &opening)?;
                filling.default = Some(row);
            }
            Token::Word("property") => cursor.skip_property()?,
            Token::Mark('}') => break,
            found => {
                return Err(cursor.wrong(found, "\"(\", \"table\", \"default\", \"property\" or \"}\""));
            }
        }
    }
    Ok((child, filling.done(cursor)?))
}

/// The variable that the token read last names.
fn declared(cursor: &Cursor<'_>, declarations: &Declarations<'_>) -> Result<usize, BifError> {
    let name = cursor.as_name("the name of a variable")?;
    let place = declarations.places.get(name).copied();
    place.ok_or_else(|| cursor.wrong(cursor.last(), "the name of a variable that has a variable block"))
}

/// `| parents )`.
fn parents(cursor: &mut Cursor<'_>, declarations: &Declarations<'_>, child: usize) -> Result<Vec<usize>, BifError> {
    let mut parents = Vec::new();
    if cursor.next()? == Token::Mark('|') {
        cursor.next()?;
    }
    loop {
        match cursor.last() {
            Token::Mark(')') => return Ok(parents),
            Token::Mark(',') => {}
            _ => {
                let parent = declared(cursor, declarations)?;
                if parent == child || parents.contains(&parent) {
                    return Err(cursor.wrong(cursor.last(), "each parent once, and not the variable itself"));
                }
                if parents.len() == MOST_PARENTS {
                    return Err(cursor.wrong("one more parent", format!("{MOST_PARENTS} at most")));
                }
                parents.push(parent);
            }
        }
        cursor.next()?;
    }
}

/// Exactly `count` probabilities and the semicolon after them.
fn numbers(cursor: &mut Cursor<'_>, count: usize) -> Result<Vec<f64>, BifError> {
    let mut numbers = Vec::new();
    loop {
        match cursor.next()? {
            Token::Mark(',') => {}
            Token::Mark(';') if numbers.len() == count => return Ok(numbers),
            Token::Mark(';') => {
                return Err(cursor.wrong(format!("{} probabilities", numbers.len()), format!("{count} of them")));
            }
            Token::Word(word) => {
                let p = word.parse().ok().filter(|p: &f64| (0.0..=1.0).contains(p));
                let Some(p) = p else {
                    return Err(cursor.wrong(cursor.last(), "a probability from 0 to 1"));
                };
                if numbers.len() == count {
                    return Err(cursor.wrong(cursor.last(), format!("\";\" after {count} probabilities")));
                }
                numbers.push(p);
            }
            found => return Err(cursor.wrong(found, "a probability or \";\"")),
        }
    }
}

impl Filling<'_, '_> {
    /// `states of the parents ) probabilities ;`.
    fn row(&mut self, cursor: &mut Cursor<'_>) -> Result<(), BifError> {
        let opening = cursor.clone();
        let mut place = 0;
        let mut named = 0;
        loop {
            match cursor.next()? {
                Token::Mark(')') => break,
                Token::Mark(',') => continue,
                _ => {}
            }
            let state = cursor.as_name("the state of a parent or \")\"")?;
            let Some(parent) = self.parents.get(named).map(|parent| &self.declarations.variables[*parent]) else {
                let wanted = format!("\")\" after the states of {} parents", self.parents.len());
                return Err(cursor.wrong(cursor.last(), wanted));
            };
            let Some(own) = parent.places.get(state) else {
                return Err(cursor.wrong(cursor.last(), format!("a state of {}", Token::Quoted(parent.name))));
            };
            place = place * parent.states.len() + own;
            named += 1;
        }
        if named < self.parents.len() {
            let found = format!("\")\" after the states of {named} parents");
            return Err(cursor.wrong(found, format!("a state of each of {} parents", self.parents.len())));
        }
        if self.given.get(place).copied().unwrap_or_default() {
            return Err(opening.wrong("a row that has been given before", "each row once"));
        }
        let row = numbers(cursor, self.states)?;
        self.sums_to_one(&row, &opening)?;
        self.keep(place, &row);
        Ok(())
    }

    /// All probabilities at once, the variable's own states slowest.
    fn table(&mut self, cursor: &mut Cursor<'_>) -> Result<(), BifError> {
        let opening = cursor.clone();
        if self.given.contains(&true) {
            return Err(cursor.wrong("a table after rows or another table", "one or the other, once"));
        }
        let all = numbers(cursor, self.rows.len())?;
        let rows = self.given.len();
        for place in 0..rows {
            let row: Vec<f64> = all.iter().skip(place).step_by(rows).copied().collect();
            self.sums_to_one(&row, &opening)?;
            self.keep(place, &row);
        }
        Ok(())
    }

    fn keep(&mut self, place: usize, row: &[f64]) {
        let from = place * self.states;
        if let (Some(own), Some(given)) = (self.rows.get_mut(from..from + self.states), self.given.get_mut(place)) {
            own.copy_from_slice(row);
            *given = true;
        }
    }

    fn sums_to_one(&self, row: &[f64], cursor: &Cursor<'_>) -> Result<(), BifError> {
        let sum: f64 = row.iter().sum();
        let misses = (sum - 1.0).abs() > ROW_SLACK;
        if misses { Err(cursor.wrong(format!("a row that sums to {sum}"), "a sum of 1")) } else { Ok(()) }
    }

    /// The table, once every row is there.
    fn done(mut self, cursor: &Cursor<'_>) -> Result<Table, BifError> {
        for place in 0..self.given.len() {
            match &self.default {
                _ if self.given[place] => {}
                Some(row) => self.keep(place, &row.clone()),
                None => return Err(cursor.wrong(format!("no row for {}", self.say(place)), "every row or a default")),
            }
        }
        Ok(Table { parents: self.parents, rows: self.rows })
    }

    /// A row by its parents' states.
    fn say(&self, mut place: usize) -> String {
        let mut states = Vec::new();
        for parent in self.parents.iter().rev() {
            let of = &self.declarations.variables[*parent].states;
            states.push(Token::Quoted(of[place % of.len()]).to_string());
            place /= of.len();
        }
        states.reverse();
        if states.is_empty() { "the variable".into() } else { states.join(", ") }
    }
}
