"""Down towards a contact that somebody or something else tells, from hands to the last step."""
