import { HttpError } from './http-error.js';

const words: Readonly<Record<string, readonly [status: number, message: string]>> = {
  ENOENT: [404, 'is not there (any more)'],
  EACCES: [
    403,
    'may not be changed or read here: its folder or the file is protected. Change its rights, or start the app on a folder of your own',
  ],
  EPERM: [
    403,
    'may not be changed or read here: its folder or the file is protected. Change its rights, or start the app on a folder of your own',
  ],
  EROFS: [403, 'lies on a disk that can only be read: start the app on another folder'],
  ENOSPC: [
    507,
    'could not be saved: the disk is full. The last saved state is unharmed: make room, and save again',
  ],
  EDQUOT: [
    507,
    'could not be saved: your share of the disk is used up. The last saved state is unharmed: make room, and save again',
  ],
  EFBIG: [507, 'could not be saved: it is too large for this disk. The last saved state is unharmed'],
  EIO: [500, 'could not be read or written: the disk reports a fault'],
  EEXIST: [409, 'exists already'],
  ENOTEMPTY: [400, 'is a folder that is not empty'],
  EISDIR: [400, 'is a folder'],
  ENOTDIR: [404, 'is not there: its folder is a file'],
  ENAMETOOLONG: [400, 'has a name that is too long'],
  EINVAL: [400, 'cannot be put there: the place lies inside it, or the disk takes no such name'],
  ELOOP: [404, 'is a link that leads nowhere'],
  ENXIO: [400, 'is neither a file nor a folder'],
  EXDEV: [400, 'cannot be moved to another disk: copy it there'],
  EBUSY: [409, 'is in use by another program'],
  EMFILE: [503, 'could not be opened: too many files are open'],
};

/** What the disk said, in words and with the status that fits; other problems are passed on as they are. */
export function diskProblem(problem: unknown, name: string): unknown {
  const code = (problem as NodeJS.ErrnoException | null)?.code;
  const known = code === undefined ? undefined : words[code];
  return known === undefined ? problem : new HttpError(known[0], `“${name}” ${known[1]}.`);
}
