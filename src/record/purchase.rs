//! What buying a part takes, and what making boards costs.
//!
//! All of it is the team's: whoever shows it asks [`Purchase::AUDIENCE`].

use super::fields::{Fields, Value};
use super::model::Property;
use super::word::Audience;
use crate::finding::{Finding, Level, Located, Place, Slug, quoted};
use crate::quantity::Given;

/// Name of the price in formulas.
pub(crate) const PRICE: &str = "price";

/// What buying a part takes.
#[derive(Clone, Debug, Default)]
pub struct Purchase {
    /// Price of one by how many are bought at once, fewest first.
    pub prices: Vec<PriceBreak>,
    /// Pieces on hand.
    pub stock: Option<u64>,
    /// Supplier and order code, the usual one first.
    pub orders: Vec<(Located<String>, Located<String>)>,
}

/// A price from some number of pieces upwards.
#[derive(Clone, Debug)]
pub struct PriceBreak {
    /// Fewest pieces that are bought at once at this price.
    pub from: u64,
    /// Price of one, in the notebook's currency.
    pub price: Located<Given>,
}

impl Purchase {
    /// Who may read any of it.
    pub const AUDIENCE: Audience = Audience::Team;

    /// Price of one where so many are bought at once; below the first break, the
    /// price of the first one. `None` where no price is stated.
    pub fn price_at(&self, pieces: u64) -> Option<f64> {
        let reached = self.prices.iter().take_while(|step| step.from <= pieces);
        let step = reached.last().or_else(|| self.prices.first())?;
        Some(step.price.value.nominal())
    }
}

/// `[cost]`: what making boards costs beside the price of their parts.
#[derive(Clone, Debug)]
pub struct Costs {
    /// Numbers of boards made at once, for which costs are worked out.
    pub volumes: Vec<u64>,
    /// What each line of a bill of materials costs for each lot.
    pub line_fee: f64,
    /// What each part costs for each round of lots, on however many lists it is.
    pub part_fee: f64,
    /// What placing one part costs.
    pub placement: f64,
    /// Pieces that loading a feeder loses.
    pub attrition: u64,
    /// The record.
    pub place: Place,
}

/// The costs of a notebook.
pub(crate) fn costs(mut fields: Fields) -> Costs {
    let mut volumes = fields.wholes("volumes").unwrap_or_default();
    volumes.retain(|volume| *volume > 0);
    volumes.sort_unstable();
    volumes.dedup();
    let mut number = |key| {
        let given = fields.quantity(key);
        given.map_or(0.0, |given| given.value.nominal())
    };
    let (line_fee, part_fee, placement) =
        (number("line_fee"), number("part_fee"), number("placement"));
    let costs = Costs {
        volumes,
        line_fee,
        part_fee,
        placement,
        attrition: fields.whole("attrition").unwrap_or(0),
        place: fields.place.clone(),
    };
    fields.finish();
    costs
}

/// What buying a part takes, and its price as a property: that of the first
/// break, so that formulas can name it whichever way it is written.
pub(crate) fn purchase(
    fields: &mut Fields,
    findings: &mut Vec<Finding>,
) -> (Purchase, Option<Property>) {
    let both = fields.key_place(PRICE).zip(fields.key_place("prices"));
    if let Some((one, breaks)) = both {
        let message = "a part has both `price` and `prices`";
        findings.push(
            Finding::new(Slug::BadValue, message)
                .at(breaks.clone(), "by how many are bought at once")
                .at(one.clone(), "whatever is bought at once")
                .help("keep `prices`; formulas take the price of its first break"),
        );
    }
    let alone = fields.named("prices").unwrap_or_default();
    let mut prices = Vec::new();
    for (from, price) in alone.entries {
        if let (Ok(from), Value::Quantity(price)) = (from.value.parse(), price) {
            prices.push(PriceBreak { from, price });
        }
    }
    prices.sort_by_key(|step| step.from);
    rising(&prices, findings);
    let price = prices.first().map(|step| Property {
        name: Located::new(PRICE.to_owned(), step.price.place.clone()),
        means: "price of one where few are bought, in the currency of the notebook",
        given: step.price.clone(),
    });
    let orders = fields.named("orders").unwrap_or_default();
    let orders = orders.entries.into_iter().filter_map(|(supplier, code)| {
        let Value::Text(code) = code else {
            return None;
        };
        Some((supplier, code))
    });
    let orders = orders.collect();
    let purchase = Purchase {
        prices,
        stock: fields.whole("stock"),
        orders,
    };
    (purchase, price)
}

/// More pieces never cost more each: such a price is likely one of another line.
fn rising(prices: &[PriceBreak], findings: &mut Vec<Finding>) {
    for pair in prices.windows(2) {
        let [fewer, more] = pair else { continue };
        if more.price.value.nominal() <= fewer.price.value.nominal() {
            continue;
        }
        let message = format!(
            "the price rises from {} to {} where {} are bought at once",
            quoted(fewer.price.value.text()),
            quoted(more.price.value.text()),
            more.from
        );
        let mut finding = Finding::new(Slug::BadValue, message)
            .at(more.price.place.clone(), "more than where fewer are bought")
            .at(
                fewer.price.place.clone(),
                format!("from {} pieces", fewer.from),
            )
            .help("look whether two prices were swapped, or a point slipped");
        finding.level = Level::Caution;
        findings.push(finding);
    }
}
