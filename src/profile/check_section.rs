//! `[checks]`, `[limits.*]` and `[params.*]`, held against what the checks declare.

use std::collections::BTreeMap;

use toml::Spanned;

use super::error::ProfileError;
use super::file::{Key, Pair};
use super::given::{Given, Reader};
use super::place::Place;
use super::suggest::{hint, nearest};
use crate::check::Params;
use crate::judge::Limits;
use crate::model::{Bound, CheckSpec, Limit, Metric, quantity};

/// Checks to leave out.
pub(super) fn skip(
    skip: &[Spanned<String>],
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Vec<&'static str>, ProfileError> {
    skip.iter().map(|key| Ok(known_check(key, place, checks)?.id)).collect()
}

/// Limits over the defaults.
pub(super) fn limits(
    section: &BTreeMap<Key, BTreeMap<Key, Spanned<Pair>>>,
    reader: &mut Reader<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Limits, ProfileError> {
    let mut limits = Limits::default();
    for (check_key, pairs) in section {
        let check = known_check(check_key, reader.place, checks)?;
        for (key, pair) in pairs {
            let id = key.get_ref().as_str();
            let Some(metric) = check.metrics.iter().find(|m| m.id == id) else {
                let known: Vec<&str> = check.metrics.iter().map(|m| m.id).collect();
                let what = format!("{} has no measurement \"{id}\"", check.id);
                return Err(reader.place.wrong(key.span(), what, hint(id, &known)));
            };
            limits.set(check, metric, limit(check, metric, pair, reader)?);
        }
    }
    Ok(limits)
}

fn limit(
    check: &CheckSpec,
    metric: &Metric,
    pair: &Spanned<Pair>,
    reader: &mut Reader<'_>,
) -> Result<Limit, ProfileError> {
    let place = reader.place;
    let wrong = |what: String| place.wrong(pair.span(), format!("{}: {what}", metric.id), "");
    let (default, sign) = match metric.bound {
        Bound::Above(default) => (default, 1.0),
        Bound::Below(default) => (default, -1.0),
        Bound::Unjudged => return Err(wrong("this measurement is never judged".to_owned())),
    };
    let mut over = |given: &Option<Spanned<Given>>, word: &str, default| {
        let Some(given) = given else { return Ok(default) };
        let key = format!("[limits.{}] {} {word}", check.id, metric.id);
        match reader.number(given, metric.unit, &key)? {
            value if value.is_nan() => {
                Err(wrong("a limit must be a number; inf means never".to_owned()))
            }
            value => Ok(Some(value).filter(|value| !value.is_infinite())),
        }
    };
    let said = pair.get_ref();
    let warn = over(&said.warn, "warn", default.warn)?;
    let limit = Limit::new(warn, over(&said.fail, "fail", default.fail)?);
    match limit {
        Limit { warn: Some(warn), fail: Some(fail), .. } if warn * sign > fail * sign => {
            let [warn, fail] = [warn, fail].map(|value| quantity::written(value, metric.unit));
            let what = format!(
                "{}: warn = {warn} lies beyond fail = {fail}, so it would never be reached",
                metric.id
            );
            let likely =
                [&said.warn, &said.fail].into_iter().flatten().find_map(|given| {
                    match given.get_ref() {
                        Given::Bare(value) => quantity::unlikely(*value, metric.unit),
                        Given::Text(_) => None,
                    }
                });
            Err(place.wrong(pair.span(), what, likely.unwrap_or_default()))
        }
        _ => Ok(limit),
    }
}

/// Parameters over the defaults.
pub(super) fn params(
    section: &BTreeMap<Key, BTreeMap<Key, Spanned<Given>>>,
    reader: &mut Reader<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Params, ProfileError> {
    let mut params = Params::default();
    for (check_key, values) in section {
        let check = known_check(check_key, reader.place, checks)?;
        for (key, value) in values {
            let id = key.get_ref().as_str();
            let Some(param) = check.params.iter().find(|p| p.id == id) else {
                let known: Vec<&str> = check.params.iter().map(|p| p.id).collect();
                let what = format!("{} has no parameter \"{id}\"", check.id);
                return Err(reader.place.wrong(key.span(), what, hint(id, &known)));
            };
            let number =
                reader.number(value, param.unit, &format!("[params.{}] {id}", check.id))?;
            if !number.is_finite() || number < 0.0 {
                let what = format!("{id} must be a finite number, not below zero");
                return Err(reader.place.wrong(value.span(), what, ""));
            }
            params.set(check, param, number);
        }
    }
    Ok(params)
}

pub(super) fn known_check(
    key: &Spanned<String>,
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<&'static CheckSpec, ProfileError> {
    let id = key.get_ref().as_str();
    checks.iter().copied().find(|c| c.id == id).ok_or_else(|| {
        let known: Vec<&str> = checks.iter().map(|c| c.id).collect();
        let near = nearest(id, known.iter().copied());
        let hint = near.map_or_else(
            || "`teleassay explain` lists the checks".to_owned(),
            |near| format!("did you mean \"{near}\"?"),
        );
        place.wrong(key.span(), format!("there is no check \"{id}\""), hint)
    })
}
