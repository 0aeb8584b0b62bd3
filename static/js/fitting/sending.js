/* Where the sheet asks for it: the queue is one for the sheet, the strobe and the road. */

export * from "../queue/sending.js";
