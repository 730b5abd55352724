"""The parts of the Verdict page: explanations, the next reading, alterations, the fit, and two
sessions side by side. Each shows what a :class:`app.decision_feed.DecisionFeed` has found."""
