//! Networks read from files in the interchange format for Bayesian networks (BIF), as other programs write them.
//!
//! Read is what version 0.15 says (F. G. Cozman, The Interchange Format for Bayesian Networks, 1998, from memory) and
//! what the two usual libraries write: one `network` block, a `variable` block with a discrete type for each variable,
//! and a `probability` block for each, with its rows named one by one, a `default` row for those not named, or
//! one `table`. Blocks and rows may stand in any order. Comments and `property` lines are passed over, commas
//! count as spaces within a list, and a name with spaces or brackets in it stands in double quotes.
//!
//! In a `table` with parents the variable's own states run slowest and the last parent fastest, as version 0.15 and the
//! two libraries have it.

mod error;
mod table;
mod token;

use std::collections::BTreeMap;

use crate::network::{MOST_STATES, MOST_VARIABLES, Network, Variable};
use token::{Cursor, Token};

pub use error::BifError;

/// The longest text that is read, in bytes.
pub const MOST_BYTES: usize = 10_000_000;
/// The longest name, in bytes.
pub const MOST_NAME: usize = 200;
/// The most parents of one variable; twenty-two with two states each are too many for a table already.
pub const MOST_PARENTS: usize = 64;

/// A variable as it was declared.
struct Declared<'t> {
    name: &'t str,
    /// Where its name stands.
    at: usize,
    states: Vec<&'t str>,
    /// The place of each state.
    places: BTreeMap<&'t str, usize>,
}

/// All that was declared, and where each name is found.
struct Declarations<'t> {
    variables: Vec<Declared<'t>>,
    places: BTreeMap<&'t str, usize>,
}

/// The network that a BIF file describes.
///
/// Its variables and their states stand in the file's order, parents in the order in which their table names them.
/// Fails with line and column on anything that is not the format, on a name that is not declared or declared
/// twice, a row that is missing, there twice or does not sum to 1, and on more of anything than the limits allow;
/// with the network's own error on a cycle.
///
/// ```
/// let text = r#"
/// network shell { }
/// variable rust { type discrete [ 2 ] { no, yes }; }
/// variable blister { type discrete [ 2 ] { no, yes }; }
/// probability ( rust ) { table 0.5, 0.5; }
/// probability ( blister | rust ) { (no) 0.9, 0.1; (yes) 0.4, 0.6; }
/// "#;
/// let network = forecast::bif::read(text)?;
/// assert_eq!(network.tables()[1].rows, [0.9, 0.1, 0.4, 0.6]);
/// # Ok::<(), forecast::bif::BifError>(())
/// ```
pub fn read(text: &str) -> Result<Network, BifError> {
    if text.len() > MOST_BYTES {
        return Err(BifError::TooLong { bytes: text.len(), most: MOST_BYTES });
    }
    let mut cursor = Cursor::new(text);
    let mut declarations = Declarations { variables: Vec::new(), places: BTreeMap::new() };
    // Tables may stand before the variables they name, so they are gone back to.
    let mut blocks = Vec::new();
    let mut named = false;
    loop {
        match cursor.next()? {
            Token::End => break,
            Token::Word("network") if named => return Err(cursor.wrong("a second network block", "one of them")),
            Token::Word("network") => {
                network(&mut cursor)?;
                named = true;
            }
            Token::Word("variable") => variable(&mut cursor, &mut declarations)?,
            Token::Word("probability") => {
                blocks.push(cursor.clone());
                if blocks.len() > MOST_VARIABLES {
                    return Err(cursor.wrong("one more probability block", format!("{MOST_VARIABLES} at most")));
                }
                while cursor.next()? != Token::Mark('}') {
                    cursor.not_the_end("\"}\" after the block")?;
                }
            }
            found => return Err(cursor.wrong(found, "\"network\", \"variable\" or \"probability\"")),
        }
    }
    if !named || declarations.variables.is_empty() {
        let missing = if named { "variable" } else { "network" };
        return Err(cursor.wrong(Token::End, format!("a {missing} block before it")));
    }
    let tables = table::all(blocks, &declarations, text)?;
    let owned = |declared: Declared<'_>| Variable {
        name: declared.name.to_owned(),
        states: declared.states.into_iter().map(str::to_owned).collect(),
    };
    Ok(Network::new(declarations.variables.into_iter().map(owned).collect(), tables)?)
}

/// `NAME { properties }`; the name is not kept.
fn network(cursor: &mut Cursor<'_>) -> Result<(), BifError> {
    loop {
        match cursor.next()? {
            Token::Mark('{') => break,
            Token::Word(_) | Token::Quoted(_) => {}
            found => return Err(cursor.wrong(found, "the network's name and \"{\"")),
        }
    }
    loop {
        match cursor.next()? {
            Token::Mark('}') => return Ok(()),
            Token::Word("property") => cursor.skip_property()?,
            found => return Err(cursor.wrong(found, "\"property\" or \"}\"")),
        }
    }
}

/// `NAME { type discrete [ n ] { states }; properties }`.
fn variable<'t>(cursor: &mut Cursor<'t>, declarations: &mut Declarations<'t>) -> Result<(), BifError> {
    let name = cursor.name("the variable's name")?;
    let at = cursor.begun();
    if declarations.variables.len() == MOST_VARIABLES {
        return Err(cursor.wrong("one more variable", format!("{MOST_VARIABLES} at most")));
    }
    if declarations.places.insert(name, declarations.variables.len()).is_some() {
        return Err(cursor.wrong(Token::Quoted(name), "a name that no other variable has"));
    }
    cursor.mark('{', "\"{\" after the variable's name")?;
    let mut states = None;
    loop {
        match cursor.next()? {
            Token::Word("type") if states.is_some() => return Err(cursor.wrong("a second type", "one of them")),
            Token::Word("type") => states = Some(discrete(cursor)?),
            Token::Word("property") => cursor.skip_property()?,
            Token::Mark('}') => break,
            found => return Err(cursor.wrong(found, "\"type\", \"property\" or \"}\"")),
        }
    }
    let Some((states, places)) = states else {
        return Err(cursor.wrong("the end of a variable without a type", "\"type discrete [ n ] { states };\""));
    };
    declarations.variables.push(Declared { name, at, states, places });
    Ok(())
}

type States<'t> = (Vec<&'t str>, BTreeMap<&'t str, usize>);

/// `discrete [ n ] { states };`.
fn discrete<'t>(cursor: &mut Cursor<'t>) -> Result<States<'t>, BifError> {
    match cursor.next()? {
        Token::Word("discrete") => {}
        found => return Err(cursor.wrong(found, "\"discrete\", the only type that is read")),
    }
    cursor.mark('[', "\"[\" and the number of states")?;
    let count = match cursor.next()? {
        Token::Word(word) => word.parse().ok().filter(|count| (1..=MOST_STATES).contains(count)),
        _ => None,
    };
    let Some(count) = count else {
        return Err(cursor.wrong(cursor.last(), format!("a whole number from 1 to {MOST_STATES}")));
    };
    cursor.mark(']', "\"]\" after the number of states")?;
    cursor.mark('{', "\"{\" and the states")?;
    let (mut states, mut places) = (Vec::new(), BTreeMap::new());
    loop {
        match cursor.next()? {
            Token::Mark('}') => break,
            Token::Mark(',') => continue,
            _ => {}
        }
        let state = cursor.as_name("the name of a state")?;
        if states.len() == count {
            return Err(cursor.wrong(cursor.last(), format!("\"}}\" after the {count} states announced")));
        }
        if places.insert(state, states.len()).is_some() {
            return Err(cursor.wrong(cursor.last(), "a name that no other state of the variable has"));
        }
        states.push(state);
    }
    if states.len() < count {
        return Err(cursor.wrong(format!("\"}}\" after {} states", states.len()), format!("the {count} announced")));
    }
    cursor.mark(';', "\";\" after the states")?;
    Ok((states, places))
}
