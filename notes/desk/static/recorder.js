// Runs on the sound thread: a second of 16-bit samples at a time, and how loud it is.
class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.second = new Int16Array(sampleRate);
    this.filled = 0;
    this.on = false;
    this.loudest = 0;
    this.loudestAt = 0;
    this.blocks = 0;
    this.port.onmessage = ({ data }) => {
      if (data === "stop") this.send();
      this.on = data === "start";
      if (this.on) this.port.postMessage({ began: currentTime });
    };
  }

  send() {
    if (!this.filled) return;
    const samples = this.second.slice(0, this.filled);
    this.filled = 0;
    this.port.postMessage({ samples: samples.buffer }, [samples.buffer]);
  }

  process([input]) {
    const channel = input[0];
    if (!channel) return true;
    for (const [i, sample] of channel.entries()) {
      if (Math.abs(sample) > this.loudest) {
        this.loudest = Math.abs(sample);
        this.loudestAt = currentTime + i / sampleRate;
      }
      if (!this.on) continue;
      this.second[this.filled++] = Math.max(-1, Math.min(1, sample)) * 32767;
      if (this.filled === this.second.length) this.send();
    }
    if (++this.blocks % 16 === 0) {
      this.port.postMessage({ level: this.loudest, at: this.loudestAt });
      this.loudest = 0;
    }
    return true;
  }
}
registerProcessor("recorder", Recorder);
