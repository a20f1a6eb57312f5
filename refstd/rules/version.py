"""The version of the rules. Any change of a rule that changes an outcome raises it; golden sheets enforce that."""

RULES_VERSION = "3"
