"""The rule set as a machine: elements in dependency order, with one meaning each."""
