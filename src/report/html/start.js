// The table, and the worst episode that has a trace.
choose();
if (many && data.traces.length) episode(data.traces[0], false);
document.documentElement.dataset.ready = "yes";
