"""The answer: results, findings, assumptions, questions and limits of a plan."""
