// The table, the overview, and the episode that the address names.
choose();
if (many) overview();
courses();
arrive();
document.documentElement.dataset.ready = "yes";
