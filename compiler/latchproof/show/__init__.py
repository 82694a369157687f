"""Any result as something to look at: no decisions here, only how it reads."""
