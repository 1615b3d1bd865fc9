"""A rocket and its gear, described once in the words its owner typed: fields, ways down, rules, files."""
