"""What is missing, does not add up or may not be: one small pure function and one frozen row a rule. Pure.

`rule` what a rule is and may answer; `subjects` what it is about; `scene` what it may look at; a file a topic
(`missing`, `names`, `escapes`, `places`, `tickets`, `acidity`, `water`, `agreement`, `readings`, `recovery`, `times`,
`agents`, `paint`, `filters`, `backups`); `catalogue` all of them; `run` puts them to a book or to one run and counts;
`explain` tells a rule in words; `meters` rows of readings; `say` figures in a sentence.
"""
