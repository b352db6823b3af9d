//! Why a model may have no estimate.

/// Why a model has no estimate. Covariates count from 0, as the caller gave them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Nothing to learn from: no set holds both outcomes, or the outcome never or always
    /// comes.
    #[error("no observation tells one outcome from the other")]
    NoInformation,
    /// A covariate or a weight is not a number, or infinite.
    #[error("a covariate or a weight is not a finite number")]
    NotFinite,
    /// A covariate has the same value everywhere, or follows from the others.
    #[error("covariate {covariate} is constant or follows from the others")]
    Collinear {
        /// The covariate with most weight in the dependence.
        covariate: usize,
    },
    /// The outcome never, or always, comes with some value of a covariate, alone or with
    /// others, so that its coefficient has no finite estimate.
    #[error("covariate {covariate} separates the outcomes: its estimate is infinite")]
    Separated {
        /// The covariate with most weight in the separating direction.
        covariate: usize,
    },
    /// The likelihood is too flat or too steep for its maximum to be found.
    #[error("no maximum after {steps} steps")]
    NotConverged {
        /// Newton steps taken.
        steps: u32,
    },
    /// Fewer than two clusters on a side: no spread between clusters.
    #[error("fewer than two clusters")]
    OneCluster,
}
