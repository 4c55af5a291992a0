//! The forms of unfinished signs as the states of an automaton, without their texts.

use std::collections::HashMap;
use std::sync::LazyLock;

use crate::between::BETWEEN_STATES;
use crate::fold::CLASSES;
use crate::sign_form::SignForm;
use crate::sign_shape::{PartialSign, class_weight};

/// At most so many places: as many as a byte can name, so that none is out of range.
pub(crate) const PLACES: usize = 256;

/// No form: a place between signs.
pub(crate) const NO_FORM: u8 = 0;

/// The forms of unfinished signs, and what may come between signs: those places first.
pub(crate) struct FormAutomaton {
    /// How many places there are.
    pub(crate) places: usize,
    /// What a place is worth as the end of a whole, a sign or another; 0 between signs.
    pub(crate) worth: [f64; PLACES],
    /// About the most that a form may come to weigh: a rare form, or a beginning of one, pays
    /// only when it is whole, and is looked at as if it had paid.
    pub(crate) promise: [f64; PLACES],
    /// The form after each form and class, `NO_FORM` if there is none.
    pub(crate) next: Vec<[u8; CLASSES]>,
    /// What each class does.
    pub(crate) classes: Vec<FormClass>,
}

/// What a class does in signs.
#[derive(Default)]
pub(crate) struct FormClass {
    /// The form of a sign that begins with it.
    pub(crate) begun: Option<u8>,
    /// From which form to which one it leads.
    pub(crate) longer: Vec<(u8, u8)>,
    /// The weight of that.
    pub(crate) weight: f64,
}

/// All forms.
pub(crate) static FORM_AUTOMATON: LazyLock<FormAutomaton> = LazyLock::new(|| {
    let mut known: HashMap<SignForm, u8> = HashMap::new();
    let mut queue: Vec<SignForm> = vec![SignForm::default()];
    let mut forms = FormAutomaton {
        places: BETWEEN_STATES,
        worth: [0.0; PLACES],
        promise: [0.0; PLACES],
        next: vec![[NO_FORM; CLASSES]; PLACES],
        classes: Vec::new(),
    };
    forms.classes.resize_with(CLASSES, FormClass::default);
    let mut done = 0;
    while let Some(form) = queue.get(done).copied() {
        done += 1;
        let begun = PartialSign::of_form(form);
        for (class, of_class) in forms.classes.iter_mut().enumerate() {
            of_class.weight = class_weight(class);
            let Some((longer, _)) = begun.with(class) else {
                continue;
            };
            let to = *known.entry(longer.form()).or_insert_with(|| {
                queue.push(longer.form());
                let place = forms.places;
                forms.places += 1;
                forms.worth[place] = longer.form().sign_weight() + longer.form().other_weight();
                forms.promise[place] = longer.form().promise();
                place as u8
            });
            match known.get(&form) {
                Some(from) => {
                    of_class.longer.push((*from, to));
                    forms.next[usize::from(*from)][class] = to;
                }
                None => of_class.begun = Some(to),
            }
        }
    }
    forms
});
