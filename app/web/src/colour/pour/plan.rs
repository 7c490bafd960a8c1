//! A pour as it stands: what is in the pot, what comes next, what the scale should show.

use job::colour::pour::{self, Grams, InPot, Shift};
use job::colour::{Mix, Shelf};
use job::mixing::Poured;
use job::validate::FieldError;

use super::ask::{Amount, Scale, Went};
use super::weigh::{self, Cure, Told};

/// What the pot takes beyond what is wanted, where nobody said how large it is: half as much again.
const ROOM: f64 = 1.5;

/// What a pot that is there already may grow to, where nobody said: twice itself.
const GROWN: f64 = 2.0;

/// One step, done or to come.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Its toner's place on the shelf; `None` is the binder.
    pub(super) toner: Option<usize>,
    /// Its toner's name, or the binder.
    pub(super) name: String,
    /// What is to be added, in g.
    pub(super) add_g: f64,
    /// What the scale shows when it is in, in g.
    pub(super) total_g: f64,
    /// What went in, when it is in.
    pub(super) went: Option<Went>,
    /// Whether it came of a remedy.
    pub(super) remedy: bool,
}

/// A pour from its first step to its last.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Its steps; those that are done come first.
    pub(super) lines: Vec<Line>,
    /// How many are done.
    pub(super) done: usize,
    /// What was in the pot before the scale was set to zero.
    before: Vec<Grams>,
    /// What is to be in the pot altogether, in g.
    pub(super) wanted_g: f64,
    /// How far rounding to the scale moves the colour.
    pub(super) shift: Shift,
    /// What is doubtful, in words.
    pub(super) warnings: Vec<String>,
    /// What the pot takes at most, in g.
    holds_g: f64,
    step_g: f64,
}

/// The pour that an address tells of.
///
/// # Errors
/// What the engine refuses, at its field.
pub(super) fn reckon(
    shelf: &Shelf,
    mix: &Mix,
    amount: Amount,
    before: Vec<Grams>,
    scale: Scale,
    went: &[Went],
) -> Result<Plan, FieldError> {
    let weighed = |amount| {
        let pour = weigh::steps(shelf, mix, amount, scale)?;
        let todo: Vec<Grams> = pour.steps.iter().map(|step| (step.toner, step.add_g)).collect();
        Ok((todo, pour.wanted_g, pour.shift, pour.warnings.into_iter().map(|warning| warning.what).collect()))
    };
    let (todo, wanted_g, shift, warnings) = match amount {
        Amount::Grams(grams) => weighed(pour::Amount::Grams(grams))?,
        Amount::Litres(litres) => weighed(pour::Amount::Litres(litres))?,
        Amount::Pot { left_g, .. } => added(shelf, mix, &before, left_g, scale)?,
    };
    let holds_g = scale.holds_g.unwrap_or(ROOM * wanted_g);
    let mut plan =
        Plan { lines: Vec::new(), done: 0, before, wanted_g, shift, warnings, holds_g, step_g: scale.step_g };
    plan.follow(todo, false, shelf);
    for step in went {
        plan.take(*step, shelf, mix)?;
    }
    Ok(plan)
}

/// What brings a pot that is there already to another recipe, what is in it then, and how far off that is.
fn added(
    shelf: &Shelf,
    mix: &Mix,
    before: &[Grams],
    left_g: f64,
    scale: Scale,
) -> Result<(Vec<Grams>, f64, Shift, Vec<String>), FieldError> {
    let limit_g = scale.holds_g.unwrap_or(GROWN * left_g);
    let pot = InPot { poured_g: before, to_come_g: &[], scale_g: scale.step_g, limit_g };
    let told = weigh::remedy(shelf, mix, &pot)?;
    match told.cure {
        Cure::Add(steps) => {
            let wanted_g = left_g + steps.iter().map(|(_, grams)| grams).sum::<f64>();
            Ok((steps, wanted_g, told.after, Vec::new()))
        }
        Cure::Fine => {
            let say = "what is in the pot is as good as this recipe: nothing is to be added";
            Ok((Vec::new(), left_g, told.before, vec![say.into()]))
        }
        Cure::StartAgain(why) => {
            Err(FieldError::new("into", format!("this pot cannot be brought there. {why}"), "Mix anew."))
        }
    }
}

impl Plan {
    /// Puts steps behind those that are done, in place of what was to come.
    fn follow(&mut self, todo: Vec<Grams>, remedy: bool, shelf: &Shelf) {
        self.lines.truncate(self.done);
        for (toner, add_g) in todo {
            let name = weigh::name(shelf, toner).to_owned();
            self.lines.push(Line { toner, name, add_g, total_g: 0.0, went: None, remedy });
        }
        self.count();
    }

    /// Counts up what the scale shows: as it went in, and as it is to go in.
    fn count(&mut self) {
        let mut total_g = 0.0;
        for line in &mut self.lines {
            total_g += line.went.and_then(|went| went.grams).unwrap_or(line.add_g);
            line.total_g = total_g;
        }
    }

    /// Takes the next step as done.
    fn take(&mut self, went: Went, shelf: &Shelf, mix: &Mix) -> Result<(), FieldError> {
        let Some(line) = self.lines.get_mut(self.done) else {
            return Err(FieldError::new(
                "went",
                "the address tells of more steps than there are",
                "Start the pour again.",
            ));
        };
        line.went = Some(went);
        self.done += 1;
        self.count();
        if went.anew
            && let Cure::Add(steps) = self.remedy(&self.in_pot(), shelf, mix)?.cure
        {
            self.follow(steps, true, shelf);
        }
        Ok(())
    }

    /// What is in the pot, in g by toner.
    fn in_pot(&self) -> Vec<Grams> {
        let mut pot = self.before.clone();
        for line in self.lines.iter().take(self.done) {
            let grams = line.went.and_then(|went| went.grams).unwrap_or(line.add_g);
            match pot.iter_mut().find(|(toner, _)| *toner == line.toner) {
                Some((_, sum)) => *sum += grams,
                None => pot.push((line.toner, grams)),
            }
        }
        pot
    }

    /// What would bring a pot back that is to hold this and what comes after the step that is being done.
    fn remedy(&self, in_pot: &[Grams], shelf: &Shelf, mix: &Mix) -> Result<Told, FieldError> {
        let to_come: Vec<Grams> = self.lines.iter().skip(self.done).map(|line| (line.toner, line.add_g)).collect();
        let pot = InPot { poured_g: in_pot, to_come_g: &to_come, scale_g: self.step_g, limit_g: self.holds_g };
        weigh::remedy(shelf, mix, &pot)
    }

    /// What would bring the pot back if so many grams went in at the next step.
    pub(super) fn if_so_much(&self, grams: f64, shelf: &Shelf, mix: &Mix) -> Result<Told, FieldError> {
        let mut done = self.clone();
        if let Some(line) = done.lines.get_mut(done.done) {
            line.went = Some(Went { grams: Some(grams), anew: false });
            done.done += 1;
        }
        done.remedy(&done.in_pot(), shelf, mix)
    }

    /// How far what is in the pot is from the recipe.
    pub(super) fn off(&self, shelf: &Shelf, mix: &Mix) -> Result<Shift, FieldError> {
        weigh::off(shelf, mix, &self.in_pot())
    }

    /// What is in the pot, in g.
    pub(super) fn in_pot_g(&self) -> f64 {
        self.in_pot().iter().map(|(_, grams)| grams).sum()
    }

    /// The step to do now.
    pub(super) fn next(&self) -> Option<&Line> {
        self.lines.get(self.done)
    }

    /// The steps as an entry keeps them.
    pub(super) fn poured(&self) -> Vec<Poured> {
        let step = |line: &Line| Poured {
            toner: line.name.clone(),
            wanted_g: line.add_g,
            poured_g: line.went.and_then(|went| went.grams),
            lot: String::new(),
        };
        self.lines.iter().take(self.done).map(step).collect()
    }

    /// Figures behind the point that the scale shows.
    pub(super) fn places(&self) -> usize {
        [1.0, 0.1, 0.01].iter().position(|step| self.step_g >= *step).unwrap_or(3)
    }
}
