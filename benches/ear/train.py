"""Learns the weights of the ear's onset detector from made performances.

    cargo bench --bench ear -- --learn FRAMES --many 4000 --font FluidR3_GM.sf2
    python3 benches/ear/train.py FRAMES assets/ear.weights [--hidden 96] [--steps 3000] [--seed 1]     (PyTorch; a GPU is quicker)

One recurrent layer (GRU, gates r, z, n in PyTorch's order) reads what the ear gives it of every frame; three outputs say "a note
began D frames ago", D = 8, 14, 24. Frames near what the rules would tell weigh more, for there the detector decides.
The last eighth of the performances is not learnt from: on it the gate's threshold is chosen, printed with F1 beside that of the rules.
File: counts of inputs, hidden units, outputs (u32); shift, scale, input, recurrent, two biases, output, its bias (f32, rows first); FNV-1a of all before (u32).
"""
import argparse, glob, hashlib, sys, time
import numpy as np, torch

AGO = (8, 14, 24)
CHUNK, WARM, REFERENCE = 675, 60, 120


def takes(folder):
    for name in sorted(glob.glob(folder + "/*.frames")):
        data, at = open(name, "rb").read(), 0
        while at < len(data):
            frames, notes, told = np.frombuffer(data, np.uint32, 3, at); at += 12
            inputs = np.frombuffer(data, np.float32, frames * INPUTS, at).reshape(frames, INPUTS); at += 4 * frames * INPUTS
            pairs = np.frombuffer(data, np.float32, 2 * (notes + told), at).reshape(-1, 2); at += 8 * (notes + told)
            yield inputs, pairs[:notes], pairs[notes:]


def targets(frames, notes, told):
    """Of every frame: was there an onset D frames before its end, and how much it weighs."""
    wanted, weight = np.zeros((frames, len(AGO)), np.float32), np.full((frames, len(AGO)), .3, np.float32)
    for d, ago in enumerate(AGO):
        for onset, _ in told:
            middle = int(round(onset + ago - 1)); weight[max(0, middle - 12):max(0, middle + 13), d] = 2
        for onset, _ in notes:
            middle = int(round(onset + ago - 1))
            for off, value in ((0, 1), (-1, 1), (1, 1), (-2, .5), (2, .5)):
                if 0 <= middle + off < frames: wanted[middle + off, d] = max(wanted[middle + off, d], value); weight[middle + off, d] = max(1, weight[middle + off, d])
    return wanted, weight


class Detector(torch.nn.Module):
    def __init__(self, hidden):
        super().__init__(); self.layer = torch.nn.GRU(INPUTS, hidden, batch_first=True); self.out = torch.nn.Linear(hidden, len(AGO)); torch.nn.init.constant_(self.out.bias, -3)

    def forward(self, inputs): return self.out(self.layer(inputs)[0])


def confirmed(curves, onset):
    """The most that any curve says near its time after an onset."""
    best = 0
    for d, ago in enumerate(AGO):
        middle = int(round(onset + ago - 1)); part = curves[max(0, middle - 9):max(0, middle + 10), d]
        best = max(best, part.max() if len(part) else 0)
    return best


def right(notes, told):
    """Notes found within 50 ms and 50 cents, in order of time; each heard one once."""
    used, count = set(), 0
    for onset, pitch in notes:
        near = [i for i, (o, p) in enumerate(told) if i not in used and abs(o - onset) <= 17.2 and abs(p - pitch) <= .5]
        if near: used.add(min(near, key=lambda i: abs(told[i][0] - onset))); count += 1
    return count


def gated(model, held, device):
    """F1 of the rules and of the rules with the detector, for each threshold."""
    sums = {level: np.zeros(3) for level in (0, .02, .05, .08, .1, .15, .2, .25, .3, .4, .5)}
    for inputs, notes, told in held:
        with torch.no_grad(): curves = torch.sigmoid(model(torch.from_numpy(inputs.copy())[None].to(device)))[0].cpu().numpy()
        said = [confirmed(curves, onset) for onset, _ in told]
        for level, s in sums.items():
            kept = [t for t, c in zip(told, said) if c >= level]; s += (right(notes, kept), len(kept), len(notes))
    for level, (hit, kept, all_) in sums.items(): print(f"  over {level:.2f}: F1 {2 * hit / (kept + all_):.4f}  precision {hit / max(1, kept):.3f}  recall {hit / all_:.3f}")
    sys.stdout.flush()


def save(model, shift, scale, path):
    state = {k: v.detach().cpu().numpy().astype("<f4") for k, v in model.state_dict().items()}; hidden = state["layer.weight_hh_l0"].shape[1]
    data = np.array([INPUTS, hidden, len(AGO)], "<u4").tobytes()
    for part in (shift, scale, *(state[k] for k in ("layer.weight_ih_l0", "layer.weight_hh_l0", "layer.bias_ih_l0", "layer.bias_hh_l0", "out.weight", "out.bias"))): data += np.ascontiguousarray(part, "<f4").tobytes()
    check = 0x811c9dc5
    for byte in data: check = ((check ^ byte) * 0x01000193) & 0xffffffff
    data += np.array([check], "<u4").tobytes(); open(path, "wb").write(data); print(path, len(data), "bytes, SHA-256", hashlib.sha256(data).hexdigest())


def main():
    global INPUTS
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter); ap.add_argument("frames"); ap.add_argument("out"); ap.add_argument("--hidden", type=int, default=96); ap.add_argument("--steps", type=int, default=3000); ap.add_argument("--batch", type=int, default=256); ap.add_argument("--seed", type=int, default=1); ap.add_argument("--inputs", type=int, default=56); a = ap.parse_args()
    INPUTS = a.inputs; torch.manual_seed(a.seed); rng = np.random.default_rng(a.seed); device = "cuda" if torch.cuda.is_available() else "cpu"; began = time.time()
    inputs, wanted, weight, held, seconds, notes_learnt = [], [], [], [], 0, 0
    every = list(takes(a.frames)); order = np.random.default_rng(0).permutation(len(every)); keep = len(every) // 8
    for place, n in enumerate(order):
        x, notes, told = every[n]
        if place < min(keep, 240): held.append((x, notes, told)); continue
        if place < keep: continue
        t, w = targets(len(x), notes, told); seconds += len(x) * 128 / 44100; notes_learnt += len(notes)
        for begin in range(0, len(x) - CHUNK, CHUNK - WARM): inputs.append(torch.from_numpy(x[begin:begin + CHUNK].copy()).half()); wanted.append(torch.from_numpy(t[begin:begin + CHUNK])); weight.append(torch.from_numpy(w[begin:begin + CHUNK]))
    inputs, wanted, weight = (torch.stack(v).to(device) for v in (inputs, wanted, weight)); del every
    flat = inputs[::7].float().reshape(-1, INPUTS); shift, scale = flat.mean(0), 1 / (flat.std(0) + 1e-3)
    model = Detector(a.hidden).to(device); rate = torch.optim.AdamW(model.parameters(), lr=3e-3, weight_decay=1e-3); plan = torch.optim.lr_scheduler.OneCycleLR(rate, 4e-3, total_steps=a.steps, pct_start=.05)
    print(f"{seconds / 3600:.1f} h, {notes_learnt} notes, {len(inputs)} stretches, {sum(p.numel() for p in model.parameters())} numbers, loaded in {time.time() - began:.0f} s"); sys.stdout.flush()
    loss_sum = 0
    for step in range(a.steps):
        pick = torch.from_numpy(rng.integers(0, len(inputs), a.batch)).to(device); x = (inputs[pick].float() - shift) * scale
        x = x + .03 * torch.randn_like(x)
        loss = torch.nn.functional.binary_cross_entropy_with_logits(model(x)[:, WARM:], wanted[pick][:, WARM:], weight[pick][:, WARM:]); rate.zero_grad(); loss.backward(); torch.nn.utils.clip_grad_norm_(model.parameters(), 1); rate.step(); plan.step(); loss_sum += float(loss.detach())
        if step % 250 == 249: print(f"step {step + 1}: loss {loss_sum / 250:.5f}, {time.time() - began:.0f} s"); sys.stdout.flush(); loss_sum = 0
    held = [(((x - shift.cpu().numpy()) * scale.cpu().numpy()).astype(np.float32), n, t) for x, n, t in held]
    model.eval(); gated(model, held, device); save(model, shift.cpu().numpy(), scale.cpu().numpy(), a.out)
    torch.backends.cudnn.enabled = False; first = torch.from_numpy(held[0][0][:REFERENCE])[None].double().to(device)      # what the program must equal
    with torch.no_grad(): said = model.double()(first)[0].cpu().numpy()
    raw = held[0][0][:REFERENCE] / scale.cpu().numpy() + shift.cpu().numpy(); np.concatenate([raw, said], 1).astype("<f4").tofile(a.out + ".reference")


if __name__ == "__main__": main()
