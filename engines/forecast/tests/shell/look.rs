//! The value of looks, against every answer and every combination of places worked out one by one.

use forecast::bif;
use forecast::look::{LookError, Looks, MOST_ANSWERS, MOST_LOOKS, MOST_REACHED, Reach, Stake};
use forecast::network::{Evidence, MOST_ENTRIES, Tree};
use forecast::shell::{Place, Seen, Shell, ShellError};
use proptest::prelude::*;

use crate::brute::{Dice, Plan, chances, joint, plan, seen, told};

/// Hours, among them some where one plan is always the better.
fn stakes(dice: &mut Dice, places: usize) -> Vec<Stake> {
    let hours = |dice: &mut Dice| if dice.below(8) == 0 { 0.0 } else { dice.between(0.0, 60.0) };
    let stake =
        |dice: &mut Dice| Stake { planned_bad_h: hours(dice), planned_sound_h: hours(dice), left_bad_h: hours(dice) };
    (0..places).map(|_| stake(dice)).collect()
}

/// Rows of chances that sum to 1.
fn shares(dice: &mut Dice, count: usize) -> Vec<f64> {
    let weights: Vec<f64> =
        (0..count).map(|_| if dice.below(6) == 0 { 0.0 } else { dice.between(0.01, 1.0) }).collect();
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 { weights.iter().map(|weight| weight / sum).collect() } else { vec![1.0 / count as f64; count] }
}

fn reach(dice: &mut Dice, place: usize) -> Reach {
    let answers = 1 + dice.below(MOST_ANSWERS);
    let (sound, bad) = (shares(dice, answers), shares(dice, answers));
    Reach { place, answers: sound.into_iter().zip(bad).collect() }
}

/// A look at one to three places.
fn look(dice: &mut Dice, places: usize) -> Vec<Reach> {
    let mut on: Vec<usize> = (0..places).collect();
    while on.len() > 1 + dice.below(3) {
        on.remove(dice.below(on.len()));
    }
    on.into_iter().map(|place| reach(dice, place)).collect()
}

/// What the better plan of each place costs, all together, by the chances of a joint; nothing for one that cannot be.
fn cost(joint: &[f64], stakes: &[Stake]) -> f64 {
    if joint.iter().sum::<f64>() <= 0.0 {
        return 0.0;
    }
    let of = |(p, stake): (f64, &Stake)| {
        let planned = p * stake.planned_bad_h + (1.0 - p) * stake.planned_sound_h;
        planned.min(p * stake.left_bad_h)
    };
    chances(joint, stakes.len()).into_iter().zip(stakes).map(of).sum()
}

/// What is gained by a look: for every combination of answers the joint that it leaves, and what plans cost then.
fn gained(joint: &[f64], look: &[Reach], stakes: &[Stake]) -> f64 {
    let all: f64 = joint.iter().sum();
    let mut left = vec![joint.to_vec()];
    for reach in look {
        let answered = |before: &Vec<f64>| {
            let heard = |(sound, bad): &(f64, f64)| {
                let times = |state: usize| if state >> reach.place & 1 == 1 { *bad } else { *sound };
                before.iter().enumerate().map(|(state, p)| p * times(state)).collect::<Vec<f64>>()
            };
            reach.answers.iter().map(heard).collect::<Vec<_>>()
        };
        left = left.iter().flat_map(answered).collect();
    }
    let then: f64 = left.iter().map(|joint| joint.iter().sum::<f64>() / all * cost(joint, stakes)).sum();
    cost(joint, stakes) - then
}

/// A shell, what was seen of it, the stakes, and the whole joint of what it may be.
fn case(dice: &mut Dice) -> (Plan, Shell, Seen, Vec<Stake>, Vec<f64>) {
    let plan = plan(dice);
    let places = plan.places.len();
    let shell = plan.shell(1.0);
    let seen = seen(dice, places);
    let stakes = stakes(dice, places);
    let joint = told(&joint(&plan, &shell), &seen, places);
    (plan, shell, seen, stakes, joint)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn invariant_gains_are_those_of_all_answers_worked_out(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let (plan, shell, seen, stakes, joint) = case(&mut dice);
        let looks: Vec<Vec<Reach>> = (0..4).map(|_| look(&mut dice, plan.places.len())).collect();
        let mut room = shell.room();
        let valued = Looks::new(&shell, &seen, &stakes, &mut room).unwrap();
        let now: f64 = cost(&joint, &stakes);
        prop_assert!((valued.expected_h() - now).abs() < 1e-6, "{} {}", valued.expected_h(), now);
        let (most, got) = (valued.most_h(), valued.gains(&looks).unwrap());
        for (look, got) in looks.iter().zip(got) {
            let wanted = gained(&joint, look, &stakes);
            prop_assert!((got - wanted).abs() < 1e-6, "{} {} {:?}", got, wanted, look);
            prop_assert!(got >= 0.0 && got <= most + 1e-9, "{} of {}", got, most);
        }
    }

    #[test]
    fn invariant_knowing_one_place_gains_at_most_what_knowing_all_would(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let (plan, shell, seen, stakes, _) = case(&mut dice);
        let sure = |place| Reach { place, answers: vec![(1.0, 0.0), (0.0, 1.0)] };
        let all: Vec<Reach> = (0..plan.places.len()).map(sure).collect();
        let mut looks: Vec<Vec<Reach>> = all.iter().map(|reach| vec![reach.clone()]).collect();
        looks.push(all);
        let mut room = shell.room();
        let valued = Looks::new(&shell, &seen, &stakes, &mut room).unwrap();
        let most = valued.most_h();
        let gains = valued.gains(&looks).unwrap();
        prop_assert!(gains.iter().all(|gain| *gain <= most + 1e-9));
        // A sure look at all of them is what that means.
        prop_assert!((gains[gains.len() - 1] - most).abs() < 1e-9, "{} {}", gains[gains.len() - 1], most);
    }

    #[test]
    fn invariant_a_look_that_tells_nothing_gains_nothing(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let (plan, shell, seen, stakes, _) = case(&mut dice);
        let mut look = look(&mut dice, plan.places.len());
        for answer in look.iter_mut().flat_map(|reach| &mut reach.answers) {
            answer.1 = answer.0;
        }
        let mut room = shell.room();
        let valued = Looks::new(&shell, &seen, &stakes, &mut room).unwrap();
        let gain = valued.gains(&[look]).unwrap()[0];
        prop_assert!(gain.abs() < 1e-9, "{}", gain);
    }

    /// A look whose answers are another's, told on with mistakes, gains no more than that one; nor does one that
    /// leaves a place out (D. Blackwell, Equivalent comparisons of experiments, Annals of Mathematical Statistics 24(2),
    /// 1953).
    #[test]
    fn invariant_a_look_told_on_with_mistakes_gains_no_more(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let (plan, shell, seen, stakes, _) = case(&mut dice);
        let clear = look(&mut dice, plan.places.len());
        let blurred: Vec<Reach> = clear
            .iter()
            .map(|reach| {
                let heard: Vec<Vec<f64>> = reach.answers.iter().map(|_| shares(&mut dice, 3)).collect();
                let sum = |side: fn(&(f64, f64)) -> f64, to: usize| {
                    reach.answers.iter().zip(&heard).map(|(answer, heard)| side(answer) * heard[to]).sum()
                };
                Reach { place: reach.place, answers: (0..3).map(|to| (sum(|a| a.0, to), sum(|a| a.1, to))).collect() }
            })
            .collect();
        let first = clear[..1].to_vec();
        let mut room = shell.room();
        let valued = Looks::new(&shell, &seen, &stakes, &mut room).unwrap();
        let gains = valued.gains(&[clear, blurred, first]).unwrap();
        prop_assert!(gains[1] <= gains[0] + 1e-9 && gains[2] <= gains[0] + 1e-9, "{:?}", gains);
    }
}

/// The reference asks after one hidden state of a small network (pgmpy, see value_of_information.toml); here it is one
/// place, and what may be asked next a look at it.
#[test]
fn oracle_value_of_information_agrees_with_pgmpy() {
    let network = bif::read(include_str!("../../../../reference/forecast/asia.bif")).unwrap();
    let tree = Tree::compile(&network, MOST_ENTRIES).unwrap();
    let mut work = tree.work();
    let text = include_str!("../../../../reference/forecast/value_of_information.csv");
    let mut cases = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap) {
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let state = |variable: usize, name: &str| {
            network.variables()[variable].states.iter().position(|state| state == name).unwrap()
        };
        let mut evidence = Evidence::none(&network);
        for finding in row[0].split_whitespace() {
            let (variable, name) = finding.split_once('=').unwrap();
            let variable = network.find(variable).unwrap();
            evidence.is(variable, state(variable, name)).unwrap();
        }
        let (lung, asked) = (network.find("lung").unwrap(), network.find(&row[8]).unwrap());
        let mut answers = |is: &str| {
            let mut evidence = evidence.clone();
            evidence.is(lung, state(lung, is)).unwrap();
            tree.update(&evidence, &mut work).unwrap().marginal(asked).to_vec()
        };
        let answers = answers("no").into_iter().zip(answers("yes")).collect();
        let shell = Shell::new(&[], &[Place { chance: number(5), leans: vec![] }], 1.0).unwrap();
        // The reference counts what is gained, here it is what is lost; leaving what is sound costs nothing in either.
        assert_eq!(number(1), 0.0);
        let stake = Stake { left_bad_h: -number(2), planned_sound_h: -number(3), planned_bad_h: -number(4) };
        let mut room = shell.room();
        let stakes = [stake];
        let valued = Looks::new(&shell, &Seen::default(), &stakes, &mut room).unwrap();
        let gain = valued.gains(&[vec![Reach { place: 0, answers }]]).unwrap()[0];
        for (got, wanted) in [(-valued.expected_h(), number(6)), (valued.most_h(), number(7)), (gain, number(9))] {
            assert!((got - wanted).abs() < 1e-9, "{row:?}: {got}");
        }
        cases += 1;
    }
    assert_eq!(cases, 7);
}

fn two() -> Shell {
    Shell::new(&[], &[Place { chance: 0.3, leans: vec![] }, Place { chance: 0.6, leans: vec![] }], 1.0).unwrap()
}

const STAKE: Stake = Stake { planned_bad_h: 20.0, planned_sound_h: 6.0, left_bad_h: 40.0 };

#[test]
fn worked_by_hand_one_place_and_one_sure_look() {
    let shell = two();
    let mut room = shell.room();
    let stakes = [STAKE; 2];
    let valued = Looks::new(&shell, &Seen::default(), &stakes, &mut room).unwrap();
    // Planned 0.3 * 20 + 0.7 * 6 = 10.2, left 12; planned 0.6 * 20 + 0.4 * 6 = 14.4, left 24.
    assert!((valued.expected_h() - 24.6).abs() < 1e-12 && (valued.most_h() - 6.6).abs() < 1e-12);
    let sure = vec![Reach { place: 0, answers: vec![(1.0, 0.0), (0.0, 1.0)] }];
    assert!((valued.gains(&[sure]).unwrap()[0] - 4.2).abs() < 1e-12);
    assert!(STAKE.plans_metal(0.3) && !STAKE.plans_metal(0.2));
    assert!((STAKE.expected(0.2) - 8.0).abs() < 1e-12);
}

#[test]
fn what_is_known_gains_nothing() {
    let shell = two();
    let mut room = shell.room();
    let seen = Seen { known: vec![(0, true)], facts: vec![] };
    let stakes = [STAKE; 2];
    let valued = Looks::new(&shell, &seen, &stakes, &mut room).unwrap();
    let sure = |place| vec![Reach { place, answers: vec![(1.0, 0.0), (0.0, 1.0)] }];
    let gains = valued.gains(&[sure(0), sure(1), [sure(0), sure(1)].concat()]).unwrap();
    assert_eq!(gains[0], 0.0);
    assert!(gains[1] > 2.0 && gains[1] == gains[2], "{gains:?}");
}

#[test]
fn looks_that_are_none_are_refused() {
    let shell = two();
    let mut room = shell.room();
    let short = Looks::new(&shell, &Seen::default(), &[STAKE], &mut room).err().expect("refused");
    assert_eq!(short.to_string(), "1 stakes; it must be 2");
    for bad in [-1.0, f64::NAN, f64::INFINITY, 2e6] {
        let stakes = [STAKE, Stake { planned_sound_h: bad, ..STAKE }];
        let told = Looks::new(&shell, &Seen::default(), &stakes, &mut room).err().expect("refused");
        assert!(matches!(told, LookError::Shell(ShellError::OutOfRange { what: "a plan's hours", .. })), "{told}");
    }
    let stakes = [STAKE; 2];
    let both = Seen { known: vec![(0, true), (0, false)], facts: vec![] };
    assert!(matches!(Looks::new(&shell, &both, &stakes, &mut room).err(), Some(LookError::Shell(_))));
    let valued = Looks::new(&shell, &Seen::default(), &stakes, &mut room).unwrap();
    let sure = |place| Reach { place, answers: vec![(1.0, 0.0), (0.0, 1.0)] };
    let refused = |look: Vec<Reach>| valued.gains(&[look]).unwrap_err();
    let count = |error: LookError| match error {
        LookError::Count { what, count, .. } => (what, count),
        other => panic!("{other}"),
    };
    assert_eq!(count(refused(vec![])), ("places of a look", 0));
    assert_eq!(count(refused(vec![sure(0); MOST_REACHED + 1])), ("places of a look", MOST_REACHED + 1));
    assert!(matches!(refused(vec![sure(0), sure(0)]), LookError::Shell(ShellError::NoSuch { number: 0, .. })));
    assert!(matches!(refused(vec![sure(2)]), LookError::Shell(ShellError::NoSuch { number: 2, .. })));
    let of = |answers: Vec<(f64, f64)>| vec![Reach { place: 1, answers }];
    assert_eq!(count(refused(of(vec![]))), ("answers about a place", 0));
    assert_eq!(count(refused(of(vec![(0.2, 0.2); 5]))), ("answers about a place", 5));
    for bad in
        [vec![(0.5, 1.0), (0.4, 0.0)], vec![(1.5, 1.0), (-0.5, 0.0)], vec![(f64::NAN, 1.0)], vec![(1.0, f64::INFINITY)]]
    {
        assert!(matches!(refused(of(bad)), LookError::Answers { place: 1, .. }));
    }
    let many = vec![vec![sure(0)]; MOST_LOOKS + 1];
    assert_eq!(count(valued.gains(&many).unwrap_err()), ("looks", MOST_LOOKS + 1));
    assert!(valued.gains(&[]).unwrap().is_empty());
}
