"""Marks the moves of a line that any listener would name alike, by rules that share nothing with the program:
S: five notes or more that go one way by whole and half steps within one major scale; H: four notes or more that go one way by half steps;
K: three skips or more (three half steps and more) one way. Everything else is '-'."""
import sys
from music21 import converter, stream
MAJOR = {0, 2, 4, 5, 7, 9, 11}
def line(path):
    part = converter.parse(path).parts[0].toSoundingPitch().stripTies()
    notes = [(float(n.offset), float(n.quarterLength), n.pitches[-1].midi) for n in part.flatten().notes if n.quarterLength > 0]
    return [n for i, n in enumerate(notes) if i == 0 or n[0] > notes[i - 1][0]]
def marks(p, parted):
    m = [b - a for a, b in zip(p, p[1:])]
    out = ['-'] * len(m)
    def runs(ok):
        i = 0
        while i < len(m):
            j = i
            while j < len(m) and ok(m[j]) and (m[j] > 0) == (m[i] > 0) and (j == i or not parted[j]): j += 1
            if j > i and parted[i]: i += 1; continue
            yield i, j
            i = max(j, i + 1)
    for i, j in runs(lambda x: 3 <= abs(x) <= 9):
        if j - i >= 3: out[i:j] = 'K' * (j - i)
    for i, j in runs(lambda x: abs(x) == 1):
        if j - i >= 3: out[i:j] = 'H' * (j - i)
    for i, j in runs(lambda x: 1 <= abs(x) <= 2):
        if j - i >= 4 and any(all((x - t) % 12 in MAJOR for x in p[i:j + 1]) for t in range(12)) and 'H' not in out[i:j]: out[i:j] = 'S' * (j - i)
    return out
if __name__ == '__main__':
    notes = line(sys.argv[1]); p = [n[2] for n in notes]
    parted = [b[0] - a[0] - a[1] > 0.01 for a, b in zip(notes, notes[1:])]
    out = marks(p, parted) + ['-']
    for n, mark in zip(notes, out): print(f'{n[0]:g}\t{n[1]:g}\t{n[2]}\t{mark}')
