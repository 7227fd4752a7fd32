"""Measures: from what people write to exact numbers with a unit, and back."""
