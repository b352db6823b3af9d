//! The publications behind the methods, each of them here once.
//!
//! Each was compared with the documentation of a library for statistics, which it names; where
//! none was found that cites it, it is from memory, and says so.

use std::fmt;

/// What [`Source::checked`] says of a citation that no documentation was found for.
pub const FROM_MEMORY: &str = "cited from memory";

/// A publication. It reads as authors, title, place, and in parentheses where it was looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// The authors' surnames, as in running text.
    pub authors: &'static str,
    /// The title.
    pub title: &'static str,
    /// Journal, volume(issue), year and pages; publisher and year of a book.
    pub place: &'static str,
    /// The library whose documentation cites it so, in words; or [`FROM_MEMORY`].
    pub checked: &'static str,
}

impl fmt::Display for Source {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Source {
            authors,
            title,
            place,
            checked,
        } = self;
        write!(out, "{authors}, {title}, {place} ({checked})")
    }
}

impl Source {
    /// Authors and place alone, for a remark within a sentence.
    pub fn brief(&self) -> String {
        format!("{}, {}", self.authors, self.place)
    }
}

/// Several publications, with a semicolon between them.
pub fn cite(sources: &[Source]) -> String {
    let cited: Vec<String> = sources.iter().map(Source::to_string).collect();
    cited.join("; ")
}

/// The jackknife.
pub const TUKEY: Source = Source {
    authors: "Tukey",
    title: "Bias and confidence in not-quite large samples",
    place: "Annals of Mathematical Statistics 29 (1958), 614",
    checked: "as statsmodels cites it",
};

/// The jackknife, groups left out one at a time.
pub const EFRON: Source = Source {
    authors: "Efron",
    title: "The Jackknife, the Bootstrap and Other Resampling Plans",
    place: "SIAM 1982",
    checked: "as R's package MRMCaov cites it",
};

/// Direct standardisation with the weights of the exposed group.
pub const MIETTINEN: Source = Source {
    authors: "Miettinen",
    title: "Standardization of risk ratios",
    place: "American Journal of Epidemiology 96 (1972), 383-388",
    checked: FROM_MEMORY,
};

/// Adjusted p-values that bound the share of false discoveries.
pub const BENJAMINI_HOCHBERG: Source = Source {
    authors: "Benjamini and Hochberg",
    title: "Controlling the false discovery rate: a practical and powerful approach to multiple testing",
    place: "Journal of the Royal Statistical Society B 57(1) (1995), 289-300",
    checked: "as scipy cites it",
};

/// Adjusted p-values that bound the chance of any false rejection.
pub const HOLM: Source = Source {
    authors: "Holm",
    title: "A simple sequentially rejective multiple test procedure",
    place: "Scandinavian Journal of Statistics 6 (1979), 65-70",
    checked: "as R's package stats cites it",
};

/// Covariance by clusters, two ways.
pub const CAMERON_GELBACH_MILLER: Source = Source {
    authors: "Cameron, Gelbach and Miller",
    title: "Robust inference with multiway clustering",
    place: "Journal of Business & Economic Statistics 29(2) (2011), 238-249",
    checked: "as R's package sandwich cites it",
};

/// Covariance by clusters, one way.
pub const LIANG_ZEGER: Source = Source {
    authors: "Liang and Zeger",
    title: "Longitudinal data analysis using generalized linear models",
    place: "Biometrika 73(1) (1986), 13-22",
    checked: "as statsmodels cites it",
};

/// The number that counts of units of unequal weight.
pub const KISH: Source = Source {
    authors: "Kish",
    title: "Survey Sampling",
    place: "Wiley 1965",
    checked: "as R's package svyweight cites it",
};

/// Test that several figures are 0.
pub const HOTELLING: Source = Source {
    authors: "Hotelling",
    title: "The generalization of Student's ratio",
    place: "Annals of Mathematical Statistics 2(3) (1931), 360-378",
    checked: "as R's package emmeans cites it",
};

/// Events needed to tell a ratio from 1.
pub const SCHOENFELD: Source = Source {
    authors: "Schoenfeld",
    title: "Sample-size formula for the proportional-hazards regression model",
    place: "Biometrics 39(2) (1983), 499-503",
    checked: "as R's package BSSRed cites it",
};

/// Degrees of freedom of a sum of variances.
pub const SATTERTHWAITE: Source = Source {
    authors: "Satterthwaite",
    title: "An approximate distribution of estimates of variance components",
    place: "Biometrics Bulletin 2(6) (1946), 110-114",
    checked: "as R's package parameters cites it",
};

/// Weights of a sample.
pub const HORVITZ_THOMPSON: Source = Source {
    authors: "Horvitz and Thompson",
    title: "A generalization of sampling without replacement from a finite universe",
    place: "Journal of the American Statistical Association 47 (1952), 663-685",
    checked: "as R's package Frames2 cites it",
};

/// Standard errors of models of a weighted sample.
pub const BINDER: Source = Source {
    authors: "Binder",
    title: "On the variances of asymptotically normal estimators from complex surveys",
    place: "International Statistical Review 51(3) (1983), 279-292",
    checked: "as R's package surveycore cites it",
};

/// Logit and log models.
pub const MCCULLAGH_NELDER: Source = Source {
    authors: "McCullagh and Nelder",
    title: "Generalized Linear Models, 2nd edition",
    place: "Chapman & Hall 1989",
    checked: "as statsmodels cites it",
};

/// Risk ratios by Poisson's likelihood.
pub const ZOU: Source = Source {
    authors: "Zou",
    title: "A modified Poisson regression approach to prospective studies with binary data",
    place: "American Journal of Epidemiology 159 (2004), 702-706",
    checked: "as R's package rqlm cites it",
};

/// Least squares.
pub const GAUSS: Source = Source {
    authors: "Gauss",
    title: "Theoria combinationis observationum erroribus minimis obnoxiae",
    place: "1823",
    checked: FROM_MEMORY,
};

/// Least squares.
pub const DRAPER_SMITH: Source = Source {
    authors: "Draper and Smith",
    title: "Applied Regression Analysis, 3rd edition",
    place: "Wiley 1998",
    checked: "as R's package aprean3 cites it",
};

/// A line through figures, and the test of it.
pub const GRIZZLE_STARMER_KOCH: Source = Source {
    authors: "Grizzle, Starmer and Koch",
    title: "Analysis of categorical data by linear models",
    place: "Biometrics 25 (1969), 489-504",
    checked: "as the SAS/STAT User's Guide cites it",
};

/// Risks with and without an exposure, by a model.
pub const ROBINS: Source = Source {
    authors: "Robins",
    title: "A new approach to causal inference in mortality studies with a sustained exposure period",
    place: "Mathematical Modelling 7 (1986), 1393-1512",
    checked: "as pygformula cites it",
};

/// Standard errors of figures that solve equations.
pub const STEFANSKI_BOOS: Source = Source {
    authors: "Stefanski and Boos",
    title: "The calculus of M-estimation",
    place: "The American Statistician 56(1) (2002), 29-38",
    checked: "as R's package geex cites it",
};

/// Odds ratios within matched sets.
pub const BRESLOW_DAY: Source = Source {
    authors: "Breslow and Day",
    title: "Statistical Methods in Cancer Research, volume I: The Analysis of Case-Control Studies",
    place: "IARC Scientific Publications 32 (1980), 5-338",
    checked: "as scipy cites it",
};

/// The exact likelihood of a matched set.
pub const GAIL_LUBIN_RUBINSTEIN: Source = Source {
    authors: "Gail, Lubin and Rubinstein",
    title: "Likelihood calculations for matched case-control studies and survival studies with tied death times",
    place: "Biometrika 68 (1981), 703-707",
    checked: "as R's package survival cites it, the year as R's package Colossus has it",
};

/// Partial likelihood.
pub const COX: Source = Source {
    authors: "Cox",
    title: "Regression models and life-tables",
    place: "Journal of the Royal Statistical Society B 34 (1972), 187-220",
    checked: "as the SAS/STAT User's Guide cites it",
};

/// Partial likelihood with ties.
pub const BRESLOW: Source = Source {
    authors: "Breslow",
    title: "Covariance analysis of censored survival data",
    place: "Biometrics 30 (1974), 89-99",
    checked: "as the SAS/STAT User's Guide cites it",
};

/// Hazards of grouped times.
pub const PRENTICE_GLOECKLER: Source = Source {
    authors: "Prentice and Gloeckler",
    title: "Regression analysis of grouped survival data with application to breast cancer data",
    place: "Biometrics 34 (1978), 57-67",
    checked: "as R's package SurvDisc cites it, the volume from memory",
};

/// Standard errors of a hazard ratio by clusters.
pub const LIN_WEI: Source = Source {
    authors: "Lin and Wei",
    title: "The robust inference for the Cox proportional hazards model",
    place: "Journal of the American Statistical Association 84(408) (1989), 1074-1078",
    checked: "as lifelines cites it",
};

/// Cumulative incidence with competing ends.
pub const AALEN_JOHANSEN: Source = Source {
    authors: "Aalen and Johansen",
    title: "An empirical transition matrix for non-homogeneous Markov chains based on censored observations",
    place: "Scandinavian Journal of Statistics 5(3) (1978), 141-150",
    checked: "as R's package PHInfiniteEstimates cites it",
};

/// The E-value.
pub const VANDERWEELE_DING: Source = Source {
    authors: "VanderWeele and Ding",
    title: "Sensitivity analysis in observational research: introducing the E-value",
    place: "Annals of Internal Medicine 167(4) (2017), 268-274",
    checked: "as R's package EValue cites it",
};

#[cfg(test)]
mod tests {
    use super::*;

    /// A library's citation and one from memory, as reports print them.
    #[test]
    fn words() {
        assert_eq!(
            cite(&[LIANG_ZEGER, MIETTINEN]),
            "Liang and Zeger, Longitudinal data analysis using generalized linear models, Biometrika 73(1) (1986), 13-22 (as statsmodels cites it); Miettinen, Standardization of risk ratios, American Journal of Epidemiology 96 (1972), 383-388 (cited from memory)"
        );
        assert_eq!(
            MIETTINEN.brief(),
            "Miettinen, American Journal of Epidemiology 96 (1972), 383-388"
        );
    }
}
