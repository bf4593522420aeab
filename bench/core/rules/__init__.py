"""The rules of the survey: each a pure function from a survey to the reasons against release."""
