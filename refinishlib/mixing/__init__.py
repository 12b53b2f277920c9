"""Formulas to grams, the pour, the rescue, mixing by ratio."""
