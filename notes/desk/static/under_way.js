// Follows a job until it leads somewhere.
const told = document.getElementById("told");
const events = new EventSource(`/jobs/${told.dataset.job}`);
events.onmessage = ({ data }) => {
  const job = JSON.parse(data);
  document.getElementById("share").value = job.share;
  told.textContent = job.failed ?? job.told;
  if (job.failed || job.led_to) events.close();
  if (job.led_to) location.replace(job.led_to);
};
