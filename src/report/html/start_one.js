// The one episode there is.
episode(0, false).then(() => { document.documentElement.dataset.ready = "yes"; });
