"""Forward chaining over the rules: compile once, run one session a question.

experta is imported in ``experta_port`` only; everything else sees rules, facts and outcomes.
"""
