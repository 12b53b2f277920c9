"""The only room that knows ounces, mils and Fahrenheit; inside the house it is g, um, degC, mL."""
